"""Oils, greases and rebuilds of a car."""
