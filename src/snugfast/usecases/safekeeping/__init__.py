"""Backups, handing a workshop over, lists, and a look at its health."""
