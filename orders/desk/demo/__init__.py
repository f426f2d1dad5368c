"""The demonstration: an invented program walked through one season in front of the reader."""
