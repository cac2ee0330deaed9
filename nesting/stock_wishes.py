"""Wishes about the stock: pieces that are left out, and panels that one piece alone may yield."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .errors import NestingError
from .panels import Panel
from .stock import StockPiece
from .text import tr


class BadStockWish(NestingError, ValueError):
    """A wish about the stock that cannot be met.

    Parameters
    ----------
    wish
        As the user gave it.
    reason, remedy
        What is wrong with it, and what to do.
    """

    def __init__(self, wish: str, reason: str, remedy: str) -> None:
        self.wish, self.reason, self.remedy = wish, reason, remedy
        super().__init__(wish, reason, remedy)

    def __str__(self) -> str:
        return tr("{wish}: {reason}; {remedy}", wish=self.wish, reason=self.reason, remedy=self.remedy)


def left_out(
    stock: Sequence[StockPiece], names: Sequence[str]
) -> tuple[list[StockPiece], list[BadStockWish]]:
    """The stock without the pieces of these names, and the names that are in no stock.

    Examples
    --------
    >>> left_out([], ["R-9"])[1][0].wish
    'R-9'
    """
    known = {s.name for s in stock}
    bad = [
        BadStockWish(
            name,
            tr("no sheet or offcut of the stock has this name"),
            tr("write it as in clear-10 3210x2250, or the number of an offcut"),
        )
        for name in names
        if name not in known
    ]
    return [s for s in stock if s.name not in set(names)], bad


def pinned(
    panels: Sequence[Panel], pins: Sequence[tuple[str, str]], stock: Sequence[StockPiece]
) -> tuple[list[Panel], list[BadStockWish]]:
    """The panels with their pins, and the pins that cannot be met.

    Parameters
    ----------
    panels
        Everything ordered; some may name their stock already.
    pins
        Pairs of a panel and a stock name; the panel is an id, or order and name for all its pieces.
    stock
        What may be taken.
    """
    bad: list[BadStockWish] = []
    out = list(panels)
    for panel, name in pins:
        hits = [i for i, p in enumerate(out) if panel in (p.id, f"{p.order}/{p.name}")]
        if not hits:
            bad.append(
                BadStockWish(
                    f"{panel}={name}",
                    tr("no panel of the lists has this name"),
                    tr("write order and panel as in K-204/front, or one piece as in K-204/front/2"),
                )
            )
        for i in hits:
            out[i] = replace(out[i], from_stock=name)
    glasses = {s.name: s.glass for s in stock}
    told: set[tuple[str, str]] = set()
    for p in out:
        if p.from_stock is None or glasses.get(p.from_stock) == p.glass:
            continue
        wish = (f"{p.order}/{p.name}", p.from_stock)
        if wish in told:
            continue
        told.add(wish)
        if p.from_stock in glasses:
            reason = tr("{stock} is of {other}, the panel of {glass}", stock=p.from_stock,
                        other=glasses[p.from_stock], glass=p.glass)  # fmt: skip
        else:
            reason = tr("no sheet or offcut of the stock is named {stock}", stock=p.from_stock)
        bad.append(
            BadStockWish(
                f"{wish[0]}={wish[1]}",
                reason,
                tr("name a stock size as in clear-10 3210x2250 or the number of an offcut"),
            )
        )
    return out, bad
