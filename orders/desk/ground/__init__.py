"""The map, and patches drawn on it."""
