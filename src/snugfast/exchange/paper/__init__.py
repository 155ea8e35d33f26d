"""Paper: what goes on a printed leaf, and its PDF by Typst."""
