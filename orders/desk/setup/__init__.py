"""Setting a program up: people, crews, places, methods and products, and the first run."""
