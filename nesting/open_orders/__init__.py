"""The order of sheets in which few orders are open on the racks at once, held to due days."""
