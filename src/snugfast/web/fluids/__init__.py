"""Pages of oils, greases and rebuilds."""
