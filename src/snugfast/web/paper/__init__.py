"""Lists and sheets as PDF, one tap from their page."""
