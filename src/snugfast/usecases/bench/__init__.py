"""Sheets for the bench: what is worth doing now, in order, with why and how."""
