"""Pages of wires, connectors and the receiver's supply."""
