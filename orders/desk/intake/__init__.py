"""Survey files on their way in, and surveys on their way out."""
