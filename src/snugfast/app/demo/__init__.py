"""The demo workshop: an invented season, told through the same use-cases as anybody's."""

from snugfast.app.demo.make import Demo, clear_demo, make_demo

__all__ = ["Demo", "clear_demo", "make_demo"]
