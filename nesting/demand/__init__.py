"""What customers order: the order book by weeks, how many orders of a product come, and what they hold."""
