"""Plans in the order of the racks and of the sheets, around flaws."""
