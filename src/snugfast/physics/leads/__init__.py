"""Wires, connectors, the receiver's supply and a motor on the bench: volts, amperes, heat."""
