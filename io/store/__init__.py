"""The stock store: what is in the racks, what plans have taken, what was cut and what broke."""
