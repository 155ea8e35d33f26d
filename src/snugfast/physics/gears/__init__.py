"""Spur gears: the circles of one gear, two of them at a distance of their shafts, and what a tooth bears."""
