"""Waste of a period: what of each sheet is panels, what no plan avoids, what remains, and who bears it."""
