"""Rows of earlier stages as the inputs of deadlines: one module a kind."""
