"""Words of people read into entries, kept, told back, found again, and taken back."""
