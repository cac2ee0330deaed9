"""The rules of the glass under which a plan is made, all lengths in nanometres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from .errors import InvalidRule
from .units import mm, show


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Cutting rules of one glass.

    Parameters
    ----------
    break_out
        Least width that can be broken off. [nm]
    levels
        Main levels allowed (2, 3 or 4), or None for free.
    last_cut
        Whether one more cut, a level below the limit, may free a piece from waste.
    longest_cut
        Longest score, or None. [nm]
    largest_piece
        Largest sheet that fits the tables (long side, short side), or None. [nm]
    level1_gap
        Least and greatest distance of level-1 cuts; None for no greatest. [nm]
    least_offcut
        Smallest leftover worth keeping, either way round. [nm]
    corner_depth
        Least depth of a corner broken off by a shape cut. [nm]
    least_angle
        Least angle at which such a corner may meet the score. [1/1000 degree]
    longest_angled_cut
        Longest score that is not parallel to a side of the sheet, or None. [nm]
    mark_step
        Measures and marks are rounded to this at the table; None for exact ones. [nm]
    inner_radius
        Least radius of inner corners that saw, drill or water jet make, or None where none is stated. [nm]
    level1_width
        Least and greatest width of what lies between two neighbouring level-1 cuts, the sides of the sheet
        (at the trim) counted as cuts. The least does not hold for waste, the greatest not for what is left
        beyond the last cut. None for no greatest. [nm]
    level2_width
        The same for level-2 cuts, the least alone. [nm]
    least_waste
        Least width of a piece of waste or an offcut, where it is more than the break-out distance. [nm]
    deepest_once
        At the fourth level a piece is cut once: neither of its parts is cut at that level again. It says nothing
        where levels are fewer, or free.
    """

    break_out: int = mm(30)
    levels: int | None = 3
    last_cut: bool = True
    longest_cut: int | None = None
    largest_piece: tuple[int, int] | None = None
    level1_gap: tuple[int, int | None] = (0, None)
    least_offcut: tuple[int, int] = (mm(600), mm(300))
    corner_depth: int = mm(25)
    least_angle: int = 30_000
    longest_angled_cut: int | None = None
    mark_step: int | None = None
    inner_radius: int | None = None
    level1_width: tuple[int, int | None] = (0, None)
    level2_width: int = 0
    least_waste: int = 0
    deepest_once: bool = False

    def __post_init__(self) -> None:
        if self.levels not in (2, 3, 4, None):
            raise InvalidRule("levels", str(self.levels), "2, 3, 4 or free")
        if self.break_out < 0:
            raise InvalidRule("break_out", show(self.break_out), "0 or more")
        if self.mark_step is not None and self.mark_step <= 0:
            raise InvalidRule("mark_step", show(self.mark_step), "more than 0, or none")

    @property
    def sheet_rules(self) -> bool:
        """Whether widths between cuts, the least waste or the deepest level have rules of their own."""
        return bool(
            self.level1_width != (0, None)
            or self.level2_width
            or self.least_waste > self.break_out
            or self.deepest_counts
        )

    @property
    def deepest_counts(self) -> bool:
        """Whether `deepest_once` says anything."""
        return self.deepest_once and self.levels == 4

    def keeps(self, width: int, height: int) -> bool:
        """Whether a leftover of this size [nm] is worth keeping as an offcut."""
        long, short = max(self.least_offcut), min(self.least_offcut)
        return max(width, height) >= long and min(width, height) >= short


class RulesByGlass(Protocol):
    """Whoever knows the cutting rules of every glass: the shop, or less."""

    def rules(self, key: str) -> Rules:
        """The rules that a glass is planned by."""
