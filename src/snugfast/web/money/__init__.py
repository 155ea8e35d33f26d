"""What it all costs, as a page."""
