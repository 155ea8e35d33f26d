"""The field sheet to take along, and its notes coming home."""
