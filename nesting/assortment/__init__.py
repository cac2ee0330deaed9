"""Which stock sizes to keep: the cheapest few of many offered, and what a size or a rule is worth."""
