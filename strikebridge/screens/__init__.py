"""Qt windows; widgets only, every number arrives in a Glance."""
