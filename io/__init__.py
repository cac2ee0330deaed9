"""Everything that reads or writes: lists, shop file, plan file, drawings."""
