"""The door to the house network: signing in, one-time links, and the phones that are in."""
