"""Parameters of the search, one frozen dataclass; the defaults serve every kind of order."""

from __future__ import annotations

from dataclasses import dataclass

NODES_A_STEP = 100
"""Nodes of the tree search in one counted search step."""
NODES_A_NEST_STEP = 200
"""Nodes that take about as long as one step of the polygon engine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Params:
    """How the search spends its steps.

    Parameters
    ----------
    guides
        Pairs (lean, exponent) of the guide (lean + waste share) / sum of area**exponent.
    fill_exponents
        Exponents of the value of a rectangle when one sheet is filled.
    fill_width
        Beam width of a fill.
    many_types
        Orders of more types than this are filled by `large_fills` first.
    large_fills
        Types that a fill chooses among, beam width, frames and exponent, one after another.
    first_width
        Beam width of the first whole-order beams.
    ease_share, ease_fills
        Share of fills for plans that are easy to cut, with fewer levels and with all, and frames, exponent
        and beam width of each.
    whole_share, repack_share, fill_share
        Shares of the nodes of whole-order beams, of ruin and recreate, and of fills with drawn values.
    nest_share
        Share of the polygon engine where most of the glass is angled.
    whole_limit
        Orders of more panels than this are never searched as a whole.
    windows
        Most sheets freed at once, taken in turn.
    repack_widths
        Beam widths of ruin and recreate.
    growth
        Factor by which the whole-order beams widen each round.
    widest
        Beam width times panels beyond which they widen no more.
    free_nodes
        Nodes for each sheet of a repack without a limit of levels.
    polish_slices
        Slices spent on the largest offcut once the cost is proven.
    lp_share, dive_share
        Shares of all nodes that the cutting-stock LP, and dives on it, may take.
    """

    guides: tuple[tuple[float, float], ...] = (
        (0.1, 1.0),
        (0.1, 1.5),
        (0.1, 2.0),
        (0.05, 1.2),
        (0.2, 1.0),
        (0.03, 1.0),
    )
    fill_exponents: tuple[float, ...] = (1.0, 1.1, 1.3)
    fill_width: int = 20
    many_types: int = 150
    large_fills: tuple[tuple[int, int, int, float], ...] = (
        (400, 16, 1, 1.05),
        (5000, 20, 1, 1.05),
        (1000, 100, 1, 1.0),
        (5000, 60, 1, 1.0),
        (2000, 60, 2, 1.05),
        (5000, 150, 1, 1.05),
    )
    first_width: int = 5
    whole_share: float = 0.15
    repack_share: float = 0.83
    fill_share: float = 0.02
    ease_share: float = 0.08
    ease_fills: tuple[tuple[int, float, int], ...] = (
        (3, 1.25, 40),
        (2, 1.1, 40),
        (1, 1.1, 40),
        (3, 1.1, 40),
        (1, 1.25, 40),
        (2, 1.0, 10),
    )
    nest_share: float = 1.0
    whole_limit: int = 1000
    windows: tuple[int, ...] = (6, 10)
    repack_widths: tuple[int, ...] = (40, 100)
    growth: float = 2.5
    widest: int = 500_000
    free_nodes: int = 4_000
    polish_slices: int = 12
    lp_share: float = 0.6
    dive_share: float = 0.3

    def __post_init__(self) -> None:
        if not self.guides or not self.fill_exponents or not self.windows or not self.repack_widths:
            raise ValueError("every list of search parameters needs an entry")
        if self.growth <= 1 or min(self.windows) < 2 or self.fill_width < 1:
            raise ValueError("growth must exceed 1, windows 1 and the fill width 0")
