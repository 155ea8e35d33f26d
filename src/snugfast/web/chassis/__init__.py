"""Pages of the running gear: steering, set-up, radio."""
