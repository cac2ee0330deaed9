"""Convex panels nested by edge-to-edge cuts at any angle: an engine for orders that are mostly angled.

Give `Nest` shapes, demand and stock sizes, call `start` once and `advance` as long as there is time, and
take `best`. Zero kerf, lengths in mm as floats: what counts is made exact by the caller, who has the scores
of every sheet and the piece that each panel becomes.
"""

from .nest import Nest
from .shapes import Filled, Placed, Score, Shape, SheetSize, Slivers

__all__ = ["Filled", "Nest", "Placed", "Score", "Shape", "SheetSize", "Slivers"]
