"""Angled panels: groups of convex panels in one blank, and the cuts that make them."""
