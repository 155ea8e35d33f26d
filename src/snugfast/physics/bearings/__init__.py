"""Ball bearings: the load they carry, their drag, and what a damaged one sounds like."""
