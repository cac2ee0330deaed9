"""Spares of a run of `plan`: which panels are worth one, and what is said of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from panewright.cli.breakage_tables import spares_text
from panewright.cli.evidence import Evidence
from panewright.io.breakage_json import evidence_json, spares_json
from panewright.io.breakage_words import evidence_words
from panewright.nesting.breakage.prices import price_of, stock_offers
from panewright.nesting.breakage.rates import Rates
from panewright.nesting.breakage.spares import SpareWish, spares_wanted
from panewright.nesting.fillers import Filler
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Plan, Unplaced
from panewright.nesting.shop import Shop
from panewright.nesting.stock import StockPiece


@dataclass(frozen=True, slots=True)
class Spares:
    """What the rates rest on, None where no spares are asked for, and the panels that are worth one."""

    found: Evidence | None = None
    wishes: tuple[SpareWish, ...] = ()

    @property
    def fillers(self) -> list[Filler]:
        """For the planner."""
        return [wish.filler() for wish in self.wishes]

    def text(self, plan: Plan) -> str:
        """For the screen; empty where none are asked for."""
        if self.found is None:
            return ""
        return f"{evidence_words(self.found.source, self.found.counts)}\n{spares_text(self.wishes, plan)}\n"

    def json(self, plan: Plan) -> dict[str, Any]:
        """For programs; empty where none are asked for."""
        if self.found is None:
            return {}
        told = evidence_json(self.found.source, self.found.counts)
        return {"spares": {"evidence": told, "wanted": spares_json(self.wishes, plan)}}


def spares_of(
    found: Evidence | None,
    panels: Iterable[Panel],
    cannot: Sequence[Unplaced],
    stock: Sequence[StockPiece],
    shop: Shop,
) -> Spares:
    """The panels that are worth a spare, without those that cannot be placed."""
    if found is None:
        return Spares()
    left_out = {u.panel for u in cannot}
    placed = [p for p in panels if p.id not in left_out]
    prices = price_of(shop, stock_offers(stock))
    return Spares(found, tuple(spares_wanted(placed, Rates(found.counts, shop.breakage), shop, prices)))
