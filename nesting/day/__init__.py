"""The day of cutter and planner: which sheets to pull today, where panels wait, what is late and why."""
