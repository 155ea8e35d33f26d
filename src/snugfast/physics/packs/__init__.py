"""Packs: charge, voltage, heat, limits, ageing, and what may be done with one."""
