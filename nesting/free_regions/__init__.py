"""Convex panels nested by edge-to-edge cuts at any angle."""
