"""What to buy and when: needs, stock on hand and on order, reorder points, quantities, calendar."""
