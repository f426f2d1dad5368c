"""Choosing methods for a season, estimating for it, and seasons themselves."""
