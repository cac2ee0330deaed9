"""How many whole sheets the orders of a week take: real nests, and rules that are calibrated on them."""
