"""The sheets of a plan on which flaws are marked: what stays, what is planned around them, what is of no use."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from ..happened import AtStep
from ..optimizer.runner import Counter
from ..panels import Purpose
from ..plan import Layout
from ..spots import flaws_of
from .around import WIDTH, Around
from .gate import faults
from .history import History
from .marks import Marked, known, laid_on, spoiled_panels
from .request import Request
from .tree import panels_on, without_flawed_offcuts


@dataclass(frozen=True, slots=True)
class Found:
    """A sheet with its flaws: how it is planned now, the steps of it that are done, and what was otherwise."""

    layout: Layout
    done: frozenset[int]
    mark: Marked


def with_spoiled(request: Request, marked: Sequence[Marked]) -> Request:
    """The request in which panels that came off with a flaw in them are broken."""
    spoiled = {p: AtStep.BREAKING for m in marked for p in m.spoiled}
    happened = replace(request.happened, broken={**spoiled, **request.happened.broken})
    return replace(request, happened=happened)


class Marks:
    """Plans sheets around the flaws that are marked on them.

    Parameters
    ----------
    request, history
        The plan, and what happened to it.
    broken
        Ids of panels that are known to be no good.
    counter
        Receives the nodes of the search.
    width
        Of its beams.
    """

    def __init__(
        self,
        request: Request,
        history: History,
        broken: Collection[str],
        counter: Counter,
        width: int = WIDTH,
    ) -> None:
        self.flaws, self.shop, self.panels = request.happened.flaws, request.shop, history.panels
        self.broken, self.counter, self.width = broken, counter, width
        self.found: list[Marked] = []
        """What was found, sheet by sheet."""

    def on(self, layout: Layout, done: frozenset[int], *, fixed: bool) -> Found | None:
        """A sheet with the flaws marked on it; None where there is none that the plan does not know.

        Parameters
        ----------
        layout
            The sheet.
        done
            Steps that are done.
        fixed
            Whether it is in the cutting and nobody said how far: then the panels over a flaw are no good.
        """
        flaws = self.flaws.get(layout.number, ())
        if not flaws:
            return None
        found = self._cut(layout, done) if fixed else self._to_cut(layout, done)
        if found is not None:
            self.found.append(found.mark)
        return found

    def _cut(self, layout: Layout, done: frozenset[int]) -> Found | None:
        flaws = [f for f in sorted(set(self.flaws[layout.number])) if f not in flaws_of(layout)]
        pieces = {leaf.piece for leaf in layout.leaves}
        spoiled = spoiled_panels(layout, flaws, self.panels, self.shop, pieces)
        spoiled = [p for p in spoiled if p not in self.broken]
        if not spoiled:
            return None
        stayed = len(panels_on(layout)) - len(spoiled)
        mark = Marked(
            number=layout.number,
            flaws=tuple(flaws),
            hit=tuple(spoiled),
            spoiled=tuple(spoiled),
            stayed=stayed,
        )
        return Found(layout, done, mark)

    def _to_cut(self, layout: Layout, done: frozenset[int]) -> Found | None:
        flawed, flaws, spoiled = laid_on(
            layout, self.flaws[layout.number], done, self.panels, self.shop, self.broken
        )
        if not flaws:
            return None
        sound = known(faults(layout, self.panels, self.shop))
        bad = [row for row in faults(flawed, self.panels, self.shop) if known([row]) - sound]
        leaves = {leaf.piece: leaf.panel for leaf in layout.leaves}
        hit = [p for *_, step, piece in bad if step is None and (p := leaves.get(piece or ""))]
        it = Around(flawed, sound, done, self.panels, self.shop, self.counter, self.width)
        it.mend()
        spoiled += [p for p in it.given_up if p not in spoiled]
        there = set(panels_on(it.layout))
        moved = tuple(p for p in panels_on(layout) if p not in there)
        mark = Marked(
            number=layout.number,
            flaws=tuple(flaws),
            hit=tuple(dict.fromkeys([*hit, *spoiled])),
            crossed=len({step for *_, step, _ in bad if step is not None}),
            spoiled=tuple(spoiled),
            moved=moved,
            stayed=len(there - set(spoiled)),
            anew=bool(bad),
        )
        if bad and not done and not any(self.panels[p].purpose is Purpose.ORDER for p in there):
            mark = replace(mark, useless=True, moved=(), stayed=0)
        steps = it.done if done else done
        off = {name for cut in it.layout.cuts if cut.step in steps for name in cut.makes}
        found = without_flawed_offcuts(it.layout, self.shop.rules(layout.glass), off)
        return Found(found, steps, mark)
