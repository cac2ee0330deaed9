"""Plate strength of tank walls and bases: thin-plate theory, least thickness, verdicts."""
