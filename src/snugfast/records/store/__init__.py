"""The store: one schema on SQLite and PostgreSQL. Nothing is opened on import."""
