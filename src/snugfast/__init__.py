"""Snugfast: what is worth checking on a hobby electric RC car before the next run."""

__version__ = "0.1.0"
