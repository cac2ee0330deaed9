"""Purchases in words and as JSON, for the commands that show what is on order."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from panewright.cli.output import err
from panewright.nesting.text import tr, tr_count

if TYPE_CHECKING:
    from panewright.io.store.purchases import Purchase, TakenOff

SHOWN = 20
"""Purchases that a delivery is told of one by one."""


def say_taken(taken: Sequence[TakenOff], received: int = 0) -> None:
    """Say what a delivery is taken off, and how many of its sheets nobody had ordered where some were."""
    from panewright.io.problems import shown

    for one in taken[:SHOWN]:
        p = one.purchase
        name = f"{p.name}, {shown(p.supplier)}" if p.supplier else p.name
        if p.to_come:
            err(
                tr_count(
                    "purchase {number} ({name}): {count} sheet has come, {rest} still to come",
                    "purchase {number} ({name}): {count} sheets have come, {rest} still to come",
                    one.sheets,
                    number=p.key,
                    name=name,
                    rest=p.to_come,
                )
            )
        else:
            err(tr("purchase {number} ({name}): all of it has come", number=p.key, name=name))
    if len(taken) > SHOWN:
        err(tr("and {count} more", count=len(taken) - SHOWN))
    over = received - sum(one.sheets for one in taken)
    if taken and over > 0:
        err(
            tr_count(
                "{count} sheet more came than purchases were open for",
                "{count} sheets more came than purchases were open for",
                over,
            )
        )


def taken_json(taken: Sequence[TakenOff]) -> list[dict[str, object]]:
    """What a delivery is taken off, for programs."""
    return [{"number": t.purchase.key, "sheets": t.sheets, "to_come": t.purchase.to_come} for t in taken]


def purchase_json(p: Purchase) -> dict[str, Any]:
    """A purchase, for programs."""
    from panewright.io.numbers_text import length, money

    return {
        "number": p.key,
        "glass": p.glass,
        "width": length(p.width),
        "height": length(p.height),
        "sheets": p.sheets,
        "received": p.received,
        "to_come": p.to_come,
        "supplier": p.supplier,
        "price": None if p.price is None else money(p.price),
        "ordered": p.ordered.isoformat(),
        "promised": p.promised.isoformat(),
        "arrived": None if p.arrived is None else p.arrived.isoformat(),
        "state": p.state.value,
        "who": p.who,
        "why": p.why,
        "note": p.note,
    }


def purchase_table(title: str, found: Sequence[Purchase], today: date) -> str:
    """Purchases as a table; days that are over are told."""
    from panewright.cli.tables import table
    from panewright.nesting.units import show_money, show_size

    rows = [
        [
            str(p.key),
            p.glass,
            show_size(p.width, p.height),
            p.supplier,
            _standing(p, today),
            p.ordered.isoformat(),
            p.promised.isoformat(),
            str(p.sheets),
            str(p.received),
            str(p.to_come),
            "" if p.price is None else show_money(p.price),
        ]
        for p in found
    ]
    headings = [
        tr("number"), tr("glass"), tr("size"), tr("supplier"), tr("state"), tr("ordered"), tr("promised"),
        tr("sheets"), tr("received"), tr("to come"), tr("price"),
    ]  # fmt: skip
    return table(title, headings, rows, left=7)


def _standing(p: Purchase, today: date) -> str:
    from panewright.io.store.purchases import PurchaseState

    if p.state is PurchaseState.HERE:
        return tr("here since {day}", day="" if p.arrived is None else p.arrived.isoformat())
    if p.state is PurchaseState.CANCELLED:
        return tr("called off")
    late = (today - p.promised).days
    return tr_count("{count} day late", "{count} days late", late) if late > 0 else tr("on its way")
