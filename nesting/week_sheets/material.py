"""What the panels of one glass may be cut from, and by which rules."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ..buying.settings import Supply
from ..rules import Rules
from ..shop import Shop
from ..stock import StockPiece


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One glass: its stock sizes and rules.

    Parameters
    ----------
    glass
        Glass key.
    stock
        The sizes that can be bought, at their prices; what is on hand may stand beside them.
    rules
        Of the glass.
    """

    glass: str
    stock: tuple[StockPiece, ...]
    rules: Rules

    @property
    def sizes(self) -> tuple[StockPiece, ...]:
        """The sizes that never run out, the smallest inner area first."""
        bought = (s for s in self.stock if s.buyable and min(s.inner_width, s.inner_height) > 0)
        return tuple(sorted(bought, key=lambda s: (s.inner_width * s.inner_height, s.name)))


def materials_of(shop: Shop, pieces: Iterable[StockPiece]) -> dict[str, Material]:
    """The glasses of these stock pieces, by glass key, in order of the keys.

    Parameters
    ----------
    shop
        Its rules.
    pieces
        Sheets that can be bought (see `io.stock_list.shop_stock` and `pieces_of`); offcuts are left out.
    """
    by_glass: dict[str, list[StockPiece]] = {}
    for piece in pieces:
        if not piece.is_offcut:
            by_glass.setdefault(piece.glass, []).append(piece)
    return {
        glass: Material(
            glass=glass,
            stock=tuple(sorted(by_glass[glass], key=lambda s: s.name)),
            rules=shop.rules(glass),
        )
        for glass in sorted(by_glass)
    }


def pieces_of(supply: Sequence[Supply], shop: Shop) -> list[StockPiece]:
    """Supply terms as stock that can be bought: at the price of one sheet, freight for each sheet counted in.

    Of several suppliers of one size the cheapest counts.
    """
    cheapest: dict[str, StockPiece] = {}
    own: Mapping[tuple[str, int, int], StockPiece | object] = {
        (s.glass, s.width, s.height): s for s in shop.stock_sizes
    }
    for terms in supply:
        known = own.get((terms.glass, terms.width, terms.height))
        piece = StockPiece(
            name=terms.name,
            glass=terms.glass,
            width=terms.width,
            height=terms.height,
            trim=shop.trim(terms.glass, getattr(known, "trim", None)),
            cost=terms.prices[0].price + terms.freight_a_sheet,
            buyable=True,
            lead_days=terms.lead_days,
        )
        before = cheapest.get(piece.name)
        if before is None or piece.cost < before.cost:
            cheapest[piece.name] = piece
    return [cheapest[name] for name in sorted(cheapest)]
