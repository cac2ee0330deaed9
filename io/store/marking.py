"""Flaws marked on what is in the racks, and taken back after a second look. The ledger keeps what was said before."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection, select

from panewright.io.flaw_text import flaws_text, without_covered
from panewright.io.store.errors import NotThere
from panewright.io.store.flaw_events import free_name, taken_out
from panewright.io.store.items import SHEET, Item, add_item, find_item, serve_waiting
from panewright.io.store.ledger import MARK, Because, Movement, post
from panewright.io.store.moving import Changed, adjust_count
from panewright.io.store.offcut_flaws import set_flaws
from panewright.io.store.outcomes import SheetKey
from panewright.io.store.schema import plan_sheet
from panewright.io.store.words import NOTE
from panewright.nesting.flaws import Flaw
from panewright.nesting.ledger import Balance, Move, SheetState
from panewright.nesting.text import tr


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """What marking flaws came to.

    Parameters
    ----------
    item
        The piece that has them now.
    before
        The case that it was taken from, or the piece as it was.
    changed
        What became of the rest of the case, where it was taken from one.
    replan
        Plan and number of the sheets that are to be cut from the piece.
    served
        Plan and number of sheets that waited for such a sheet and have it now.
    """

    item: Item
    before: Item
    changed: Changed | None = None
    replan: tuple[SheetKey, ...] = ()
    served: tuple[SheetKey, ...] = ()


def mark_flaws(
    connection: Connection, name: str, flaws: Sequence[Flaw], because: Because, *, anew: bool = False
) -> Marked:
    """Set down flaws of an offcut or of one sheet of a case, which becomes an item of its own.

    Parameters
    ----------
    connection
        In a `Store.writing`.
    name
        Number of a case or offcut.
    flaws
        Found now; they lie on the piece.
    because
        When, who and why.
    anew
        What was marked before does not hold any more; of a case that is nothing.

    Raises
    ------
    UnknownName, NotThere
        No such item, or it is not in the rack.
    """
    one = find_item(connection, name)
    if not one.balance.on_hand:
        raise NotThere(name)
    if one.is_one_piece:
        return _mark_piece(connection, one, flaws, because, anew=anew)
    if not flaws:
        return Marked(item=one, before=one)
    because = replace(because, event=f"{MARK}{secrets.token_hex(16)}")
    changed = adjust_count(connection, name, -1, because)
    new = taken_out(one, free_name(connection, f"{name}.f"), because, flaws=without_covered(flaws))
    # it stands in its case still: passed over it would break the order in which sheets are taken
    new = replace(new, take=one.take)
    post(connection, [Movement(Move.ADJUSTED, add_item(connection, new), Balance(on_hand=1), because)])
    return Marked(item=find_item(connection, new.name), before=one, changed=changed)


def _mark_piece(
    connection: Connection, one: Item, flaws: Sequence[Flaw], because: Because, *, anew: bool
) -> Marked:
    # a flaw that nobody located is what is located now
    kept = () if anew or (one.set_aside and flaws) else one.flaws
    every = without_covered([*kept, *flaws])
    if every == one.flaws:
        return Marked(item=one, before=one)
    said = tr("{why} (before: {before})", why=because.why, before=flaws_text(one.flaws) or "-")
    set_flaws(connection, one, every)
    post(connection, [Movement(Move.MARKED, one.key, Balance(), replace(because, why=said[:NOTE]))])
    s = plan_sheet.c
    rows = connection.execute(
        select(s.plan, s.number)
        .where(s.item == one.key, s.state == SheetState.RESERVED.value)
        .order_by(s.plan, s.number)
    )
    replan = tuple((row.plan, row.number) for row in rows)
    whole = one.kind == SHEET and not every
    served = serve_waiting(connection, one.key, because) if whole else []
    return Marked(
        item=find_item(connection, one.name), before=one, replan=replan if every else (), served=tuple(served)
    )
