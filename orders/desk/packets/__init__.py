"""What a crew carries: the packet of an order, and of a week."""
