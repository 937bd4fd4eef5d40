"""Values in, documents out; no Qt."""
