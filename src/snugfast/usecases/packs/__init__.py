"""Packs: charging, storing, judging, fitting a car, and what is left in them."""
