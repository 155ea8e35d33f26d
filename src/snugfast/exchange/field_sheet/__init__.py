"""The field sheet: one file of HTML for a phone's files, that needs no server and no network."""
