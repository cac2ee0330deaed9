"""The domain and all computing: units, glass, panels, stock, cut trees, optimizer, bounds, checker, figures."""
