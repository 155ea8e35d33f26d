"""Pages of the spares box: what is in it, what fits, what to carry, what to buy."""
