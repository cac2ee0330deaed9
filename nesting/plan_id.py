"""The short name of a plan, and the numbers of its offcuts.

The name is taken from what is cut and where it lies, never from the order of work, so that labels,
records and the store still fit after the sequence has been changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from typing import Final

from .outlines import Outline
from .plan import SCHEMA, Layout, LeafKind

CROCKFORD: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Base 32 without I, L, O and U (D. Crockford, Base 32, 2002)."""

_ESCAPES: Final = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t", "\b": "\\b", "\f": "\\f"}


def plan_id(seed: int, layouts: Sequence[Layout]) -> str:
    """The name of a plan: eight characters with a dash in the middle.

    It is taken from the SHA-256 over the compact JSON of schema, seed and, by sheet number, the stock
    and the panels and offcuts of each sheet. Cullet, cuts, piece names, offcut numbers and days do not
    count: the same pieces cut in another order keep the name, a piece that lies elsewhere changes it.

    Parameters
    ----------
    seed
        Of the search.
    layouts
        All sheets of the plan, in any order.

    Examples
    --------
    >>> plan_id(0, [])
    'VZEX-B8RA'
    """
    sheets = [
        [layout.number, layout.stock, _leaves(layout)] for layout in sorted(layouts, key=lambda x: x.number)
    ]
    digest = sha256(compact_json([SCHEMA, seed, sheets]).encode("utf-8")).digest()
    bits = int.from_bytes(digest[:5], "big")
    text = "".join(CROCKFORD[(bits >> shift) & 31] for shift in range(35, -1, -5))
    return f"{text[:4]}-{text[4:]}"


def offcut_number(plan_id: str, sheet_number: int, index: int) -> str:
    """The number under which an offcut goes to the rack.

    Parameters
    ----------
    plan_id
        Name of the plan that makes it.
    sheet_number
        Number of its sheet.
    index
        Counts the offcuts of the sheet from 0; ``a`` to ``z``, then ``aa``, ``ab`` ...

    Examples
    --------
    >>> offcut_number("Q7K2-9DMX", 1, 0), offcut_number("Q7K2-9DMX", 12, 27)
    ('Q7K2-9DMX.1.a', 'Q7K2-9DMX.12.ab')
    """
    letters = ""
    index += 1
    while index > 0:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("a") + rest) + letters
    return f"{plan_id}.{sheet_number}.{letters}"


def _leaves(layout: Layout) -> list[list[object]]:
    kept = sorted(
        (leaf.kind.value, leaf.panel or "", _from_least(leaf.outline))
        for leaf in layout.leaves
        if leaf.kind is not LeafKind.CULLET
    )
    return [[kind, panel, outline] for kind, panel, outline in kept]


def _from_least(outline: Outline) -> list[list[int]]:
    first = outline.index(min(outline))
    return [[x, y] for x, y in (*outline[first:], *outline[:first])]


def compact_json(value: object) -> str:
    """JSON text without spaces of nested lists of whole numbers and texts.

    Raises
    ------
    TypeError
        Anything else.
    """
    if isinstance(value, str):
        return '"' + "".join(_ESCAPES.get(c) or (c if c >= " " else f"\\u{ord(c):04x}") for c in value) + '"'
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    if isinstance(value, list):
        return "[" + ",".join(map(compact_json, value)) + "]"
    raise TypeError(f"{type(value).__name__} in the name of a plan")
