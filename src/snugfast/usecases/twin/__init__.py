"""The twin of a car: made from its build, fitted to what was read, asked by the beliefs."""
