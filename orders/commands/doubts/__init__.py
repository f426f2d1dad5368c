"""What a person should look at in what was stored: the facts stand, whatever is said of them."""
