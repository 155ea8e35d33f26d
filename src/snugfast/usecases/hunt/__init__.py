"""The fault hunt: what may be wrong with a car that let its owner down, and the next thing to try."""
