"""Futures of the order book as paths of weeks in whole sheets, and how well they would have foretold the past."""
