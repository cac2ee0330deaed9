"""Stock-taking: what was counted against what the store says, and the movements that put it right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from panewright.io.store.items import Item, find_item
from panewright.io.store.ledger import Because
from panewright.io.store.moving import Changed, OnePiece, set_count
from panewright.io.store.valuing import Prices


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """An item that was counted.

    Parameters
    ----------
    item
        As the store has it.
    counted
        Pieces that were found.
    each
        What one piece is worth. [1/10,000 of the currency]
    """

    item: Item
    counted: int
    each: int

    @property
    def pieces(self) -> int:
        """Counted less what the store says."""
        return self.counted - self.item.balance.on_hand

    @property
    def area2(self) -> int:
        """Twice the area of the difference. [nm2]"""
        return 2 * self.pieces * self.item.width * self.item.height

    @property
    def worth(self) -> int:
        """Of the difference. [1/10,000 of the currency]"""
        return self.pieces * self.each

    @property
    def lost(self) -> int:
        """How many sheets of plans lose it if this is posted: to be cut from other cases, or without glass."""
        b = self.item.balance
        return max(0, b.reserved - self.counted - b.expected)


def differences(connection: Connection, counted: Mapping[str, int], prices: Prices) -> list[Difference]:
    """Hold counted numbers against the store.

    Parameters
    ----------
    connection
        Of a `Store.reading`, or a `Store.writing` in which they are posted.
    counted
        Number of a case or offcut -> pieces.
    prices
        Values of single pieces.

    Returns
    -------
    list of Difference
        By place and number.

    Raises
    ------
    UnknownName
        The store has no such case or offcut.
    OnePiece
        More than one piece was counted of an offcut, or one that is not cut yet.
    """
    found = []
    for name, count in counted.items():
        one = find_item(connection, name)
        if one.is_offcut and count + one.balance.expected > 1:
            raise OnePiece(one)
        found.append(Difference(item=one, counted=count, each=prices.of(one).each))
    return sorted(found, key=lambda d: (d.item.place, d.item.name))


def post_counts(connection: Connection, found: Sequence[Difference], because: Because) -> list[Changed]:
    """Set down every count, those without a difference too: they prove that it was counted.

    Sheets of plans for which no piece is left are without glass then.
    """
    return [set_count(connection, one.item, one.counted, because) for one in found]
