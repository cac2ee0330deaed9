"""The order of scores and breaks on a sheet: what an experienced cutter would choose."""
