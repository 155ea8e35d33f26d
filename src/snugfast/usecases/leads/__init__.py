"""Wires, connectors and supplies of a car: what they lose, how hot they get, what an upgrade buys."""
