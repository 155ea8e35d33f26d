"""The box of spares: kinds of part, what fits where, what is in it, and what a finding took."""
