"""Short names that plan files and JSON carry in English whatever the language; people read them through `tr`."""

from __future__ import annotations

from typing import Final

RULES: Final = (
    "areas",
    "bound",
    "break-out distance",
    "corner of a blank",
    "cut line",
    "cut outline",
    "cutting days",
    "deepest level",
    "due days",
    "due order",
    "figures",
    "flaw",
    "from stock",
    "glass",
    "larger than every sheet",
    "largest piece",
    "last cut",
    "late",
    "leaf outline",
    "least waste",
    "leaves",
    "level",
    "level-1 distance",
    "level-1 width",
    "level-2 width",
    "level limit",
    "longest angled cut",
    "longest angled score",
    "longest cut",
    "longest score",
    "mirror",
    "no stock of this glass",
    "no such stock",
    "not enough stock",
    "offcut",
    "offcut number",
    "order of racks and sheets",
    "panel in the trim",
    "panel outline",
    "panels",
    "piece in hand",
    "placed once",
    "plan id",
    "rack",
    "rack order",
    "rotation ban",
    "shape cut",
    "sheet numbers",
    "sheet order",
    "spot",
    "steps",
    "stock",
    "tolerance",
    "trim",
    "turn",
    "unplaced",
)
"""Rules that forbid something, or that a check names."""
BOUNDS: Final = ("area", "cutting-stock LP", "dual feasible functions", "kept sheets")
"""Where a lower bound comes from."""
STOPS: Final = ("bound met", "effort", "interrupt", "search ended", "time")
"""Why a search stopped."""
