"""Help: a guide for each role."""
