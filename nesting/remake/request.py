"""What is asked for: an earlier plan, what happened to it, what is ordered and cancelled besides, and the stock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..happened import Happened
from ..kept import Fault, Faults, last_sheet
from ..panels import Panel
from ..plan import Layout, Plan
from ..shop import Shop
from ..stock import StockPiece
from ..text import tr
from ..units import show, show_size
from .history import History


class CannotRemake(Faults):
    """What was said does not fit the plan."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What is to be made again.

    Parameters
    ----------
    earlier
        The plan.
    happened
        What became of its sheets and panels.
    stock
        What is free now, and what the plan holds for its sheets that are not cut yet.
    shop
        Rules, worth of offcuts and cutting days.
    added
        Panels ordered besides.
    cancelled
        Orders, panels (order and name) or single pieces (ids) that are wanted no longer.
    swap
        Whether a piece of a later order is taken wherever one is cut already, not only where that
        saves a due day or money.
    seed
        Of the search.
    """

    earlier: Plan
    happened: Happened
    stock: tuple[StockPiece, ...]
    shop: Shop
    added: tuple[Panel, ...] = ()
    cancelled: tuple[str, ...] = ()
    swap: bool = False
    seed: int = 0

    def given_up(self, history: History) -> frozenset[str]:
        """Ids of the panels that are wanted no longer, with those that were made again for them."""
        out: set[str] = set()
        for wish in self.cancelled:
            for panel in self.earlier.panels:
                if wish in (panel.order, f"{panel.order}/{panel.name}", panel.id):
                    out.update(history.line(panel.id))
        return frozenset(out) - history.cancelled

    def check(self) -> None:
        """Raise `CannotRemake` where it does not fit the plan."""
        faults = [*self._sheets(), *self._panels()]
        if faults:
            raise CannotRemake(faults)

    def _sheets(self) -> list[Fault]:
        known = {x.number: x for x in self.earlier.layouts}
        happened, out = self.happened, []
        on_table = {piece.sheet for piece in happened.pieces}
        for number in sorted(happened.cut | set(happened.half) | on_table):
            if number not in known:
                reason = tr("plan {plan} has no such sheet", plan=self.earlier.id)
                if number <= last_sheet(self.earlier):
                    reason = tr(
                        "plan {plan} has put another sheet in its place: what came off it is not known here",
                        plan=self.earlier.id,
                    )
                remedy = tr("give the newest plan whose sheets are cut, or correct the number")
                out.append(Fault(tr("sheet {number}", number=number), reason, remedy))
        for number in sorted({*happened.flawed, *happened.flaws}):
            if number > last_sheet(self.earlier):
                reason = tr("plan {plan} has no such sheet", plan=self.earlier.id)
                out.append(Fault(tr("sheet {number}", number=number), reason, tr("correct the number")))
        out += self._flaws(known)
        out += self._how_far(known)
        for number, step in sorted(happened.half.items()):
            layout = known.get(number)
            if layout is not None and not 0 <= step <= len(layout.cuts):
                out.append(
                    Fault(
                        tr("sheet {number}", number=number),
                        tr("it has no step {step}; its steps go to {last}", step=step, last=len(layout.cuts)),
                        tr("give the last step that is done"),
                    )
                )
        return [*out, *self._pieces(known)]

    def _how_far(self, known: Mapping[int, Layout]) -> list[Fault]:
        """A sheet in the cutting is not planned as if it were whole."""
        now = History(self.earlier).since(self.happened)
        said = {*now.cut, *now.half, *now.flawed, *(piece.sheet for piece in now.pieces)}
        return [
            Fault(
                tr("sheet {number}", number=number),
                tr("it is in the cutting, and nobody said how far"),
                tr("give the last step that is done: --half-cut {number}=STEP", number=number),
            )
            for number in sorted((now.begun & known.keys()) - said)
        ]

    def _flaws(self, known: Mapping[int, Layout]) -> list[Fault]:
        """A flaw lies on its sheet."""
        out = []
        for number, flaws in sorted(self.happened.flaws.items()):
            layout = known.get(number)
            if layout is None:
                continue
            for flaw in flaws:
                if min(flaw.x, flaw.y, flaw.width, flaw.height) >= 0 and (
                    flaw.x + flaw.width <= layout.width and flaw.y + flaw.height <= layout.height
                ):
                    continue
                reason = tr(
                    "a flaw of {flaw} from {x}, {y} does not lie on a sheet of {sheet}",
                    flaw=show_size(flaw.width, flaw.height),
                    x=show(flaw.x),
                    y=show(flaw.y),
                    sheet=show_size(layout.width, layout.height),
                )
                remedy = tr("measure it from the lower left corner of the sheet")
                out.append(Fault(tr("sheet {number}", number=number), reason, remedy))
        return out

    def _pieces(self, known: Mapping[int, Layout]) -> list[Fault]:
        """What was measured on the table cannot be more than the sheet was."""
        out, area = [], dict.fromkeys(known, 0)
        for piece in self.happened.pieces:
            layout = known.get(piece.sheet)
            if layout is None:
                continue
            area[piece.sheet] += piece.width * piece.height
            sides = sorted((piece.width, piece.height)), sorted((layout.width, layout.height))
            if all(mine <= whole for mine, whole in zip(*sides, strict=True)) and (
                area[piece.sheet] <= layout.width * layout.height
            ):
                continue
            reason = tr(
                "a piece of {piece} is more than is left of the sheet of {sheet}",
                piece=show_size(piece.width, piece.height),
                sheet=show_size(layout.width, layout.height),
            )
            out.append(Fault(tr("sheet {number}", number=piece.sheet), reason, tr("measure it again")))
        return out

    def _panels(self) -> list[Fault]:
        history, out = History(self.earlier), []
        for name in sorted(self.happened.broken):
            if name in history.remakes.values():
                continue  # told before, and made again since
            if name not in history.panels:
                reason = tr("plan {plan} has no such panel", plan=self.earlier.id)
            elif name not in history.on_sheet and name not in history.broken:
                reason = tr(
                    "it is on no sheet of plan {plan}, so it cannot have broken", plan=self.earlier.id
                )
            else:
                continue
            remedy = tr("write a panel as on its label, such as K-204/front/1")
            out.append(Fault(tr("panel {panel}", panel=name), reason, remedy))
        for panel in self.added:
            if panel.id in history.panels:
                out.append(
                    Fault(
                        tr("panel {panel}", panel=panel.id),
                        tr("plan {plan} has this panel already", plan=self.earlier.id),
                        tr("give the new panel an order or name of its own, or leave it out"),
                    )
                )
        known = {w for p in self.earlier.panels for w in (p.order, f"{p.order}/{p.name}", p.id)}
        for wish in self.cancelled:
            if wish not in known:
                reason = tr("plan {plan} has no such order or panel", plan=self.earlier.id)
                remedy = tr(
                    "write an order, order and panel as in K-204/front, or one piece as in K-204/front/2"
                )
                out.append(Fault(wish, reason, remedy))
        return out
