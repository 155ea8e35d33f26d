"""The car as it is set up: steering, suspension, radio, and the record of it."""
