"""A week of an invented shop: panel lists, stock list and shop file. `panewright demo` runs them."""
