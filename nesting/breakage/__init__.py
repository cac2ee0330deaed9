"""Breakage from evidence: rates by step, glass and size, what a week loses, which panels are worth a spare."""
