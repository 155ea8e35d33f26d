"""What is taken to the field, and what comes home from it."""
