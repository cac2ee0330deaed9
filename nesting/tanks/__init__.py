"""Tanks: from the vessel that was ordered to its panels of glass."""
