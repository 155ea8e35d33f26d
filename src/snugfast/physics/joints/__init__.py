"""Joints: screws, nuts and set screws, how tight they may be and what holds them."""
