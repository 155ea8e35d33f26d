"""The store: one schema on SQLite and PostgreSQL. Importing it opens nothing, but brings SQLAlchemy."""

from snugfast.records.store.reads import Reads
from snugfast.records.store.store import Store, Work

__all__ = ["Reads", "Store", "Work"]
