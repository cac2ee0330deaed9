"""A plan made again after something happened: broken, flawed, urgent and cancelled, with the least change.

`request.Request` says what happened and what is wanted, `search.Remaking` makes the plan.
"""
