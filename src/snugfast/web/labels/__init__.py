"""Labels to print, and what a code on one opens."""
