"""The same forecast as if no order were booked: what open orders are worth is the difference."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..demand.model import OpenOrders
from .draws import Law
from .simulate import Simulation


def without_open(ready: Simulation) -> Simulation:
    """What `prepare` makes with ``use_open=False``, without learning the law again."""
    none = np.zeros(0, np.int64)
    model = replace(
        ready.model,
        known=np.zeros_like(ready.model.known),
        open=OpenOrders(
            orders=(),
            week=none,
            product=none,
            stays=np.zeros(0),
            expected=np.zeros(0, bool),
            begun=np.zeros_like(ready.model.open.begun),
        ),
    )
    drawing = replace(ready.drawing, law=Law.of(model), open=ready.drawing.open[:0])
    return replace(ready, model=model, drawing=drawing)
