"""What sheets cost over the lower bound, through plans that were made from others."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from panewright.io.waste_pieces import PlanPieces
from panewright.nesting.figures import Figures
from panewright.nesting.waste.over_bound import OverBound, over_bound


@dataclass(frozen=True, slots=True)
class LineSheet:
    """A sheet of a plan: one of the plan before it with the same number that is equal is the same sheet."""

    stock: str
    glass: str
    figures: str


@dataclass(slots=True)
class LinePlan:
    """A plan: the one before it, if that is known, when it was committed [us], and its sheets by number."""

    follows: str | None
    committed: int = 0
    sheets: dict[int, LineSheet] = field(default_factory=dict)


class Lines:
    """Plans and those that they follow; each is asked for once.

    Parameters
    ----------
    head
        A plan by its id.
    pieces
        Its panels and bounds.
    figures
        Reads `LineSheet.figures`.
    """

    def __init__(
        self,
        head: Callable[[str], LinePlan],
        pieces: Callable[[str], PlanPieces],
        figures: Callable[[str], Figures],
    ) -> None:
        self._head, self._read, self._figures = head, pieces, figures
        self._plans: dict[str, LinePlan] = {}
        self._pieces: dict[str, PlanPieces] = {}
        self._over: dict[tuple[str, str], dict[int, OverBound]] = {}
        self.no_bound: set[tuple[str, str]] = set()
        """Plans and glasses without a lower bound."""

    def plan(self, name: str) -> LinePlan:
        """A plan by its id."""
        if name not in self._plans:
            self._plans[name] = self._head(name)
        return self._plans[name]

    def pieces(self, name: str) -> PlanPieces:
        """Its panels and bounds."""
        if name not in self._pieces:
            self._pieces[name] = self._read(name)
        return self._pieces[name]

    def line(self, name: str) -> list[str]:
        """The plan and those before it, the nearest first."""
        out: list[str] = []
        now: str | None = name
        while now is not None and now not in out:
            out.append(now)
            now = self.plan(now).follows
        return out

    def first_commit(self, name: str, number: int) -> int:
        """When a sheet was first in a plan of the line. [us]"""
        stock = self.plan(name).sheets[number].stock
        found = [one for one in map(self.plan, self.line(name)) if number in one.sheets]
        return min(one.committed for one in found if one.sheets[number].stock == stock)

    def over(self, name: str, number: int) -> OverBound:
        """What a sheet bears of the excess of the plan that first laid it out so.

        The bound of a plan counts the sheets that it took over at their whole cost: of their excess the plan
        tells that they were made in.
        """
        origin = self._origin(name, number)
        glass = self.plan(origin).sheets[number].glass
        if (origin, glass) not in self._over:
            mine = {
                n: self._figures(x.figures) for n, x in self.plan(origin).sheets.items() if x.glass == glass
            }
            new = {n: f for n, f in mine.items() if self._origin(origin, n) == origin}
            bound = self.pieces(origin).bounds.get(glass)
            if bound is None:
                self.no_bound.add((origin, glass))
            else:
                bound -= sum(f.cost for n, f in mine.items() if n not in new)
            self._over[origin, glass] = over_bound(new, bound)
        return self._over[origin, glass][number]

    def _origin(self, name: str, number: int) -> str:
        line = self.line(name)
        for before in line[1:]:
            if self.plan(before).sheets.get(number) != self.plan(name).sheets[number]:
                break
            name = before
        return name
