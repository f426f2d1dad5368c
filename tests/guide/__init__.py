"""The pictures of the guides: taken from the demo by a script, and held to it by a test."""
