"""What each final drive does to speed, heat, run time and wear."""
