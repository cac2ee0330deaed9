"""The glass of a tank order: for the whole tank, and for single roles and panels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panewright.io.row_cells import Cells
from panewright.io.tank_words import named
from panewright.nesting.shop import GlassKind
from panewright.nesting.tanks.tank import GlassWish, Role
from panewright.nesting.text import tr

ADVISE: Final = "advise"
"""In the column ``thickness``: the thickness check chooses."""


def tank_glass(cells: Cells, walls: Sequence[str]) -> dict[Role | str, GlassWish] | None:
    """The glass of every role, and of single panels by name; None where something is wrong.

    Walls and base take the row's thickness, braces that of the walls, covers and interior panels that
    of the shop's habits, unless the column ``other glass`` says more.
    """
    kind, thickness = cells.kind("glass", cells.text("glass"))
    if kind is None:
        return None
    given = cells.text("thickness")
    advise = given.strip().lower() == ADVISE
    if given and not advise:
        thickness = cells.stated_thickness(thickness)
        if thickness is None:
            return None
    elif advise and thickness is not None:
        cells.bad(
            "thickness", tr("the glass names a thickness already"), tr("name the kind alone, as in clear")
        )
        return None
    elif not advise and thickness is None:
        cells.bad(
            "thickness", tr("the thickness is missing"), tr("fill it in, as in 10 or 3/8 in, or write advise")
        )
        return None
    if thickness is not None and not cells.worked("thickness" if given else "glass", kind, thickness):
        return None
    habits = cells.shop.tanks
    glass: dict[Role | str, GlassWish] = {
        Role.WALL: GlassWish(kind.kind, thickness),
        Role.BASE: GlassWish(kind.kind, thickness),
        Role.BRACE: GlassWish(kind.kind, None),
        Role.COVER: GlassWish(kind.kind, _next(kind, habits.cover_thickness)),
        Role.INSIDE: GlassWish(kind.kind, _next(kind, habits.inside_thickness)),
    }
    return _others(cells, glass, walls, thickness)


def _others(
    cells: Cells, glass: dict[Role | str, GlassWish], walls: Sequence[str], thickness: int | None
) -> dict[Role | str, GlassWish] | None:
    """What the column ``other glass`` changes."""
    pairs = cells.attempt("other glass", lambda: named(cells.text("other glass")))
    if pairs is None:
        return None
    roles = {role.value: role for role in Role}
    fine, usual = True, glass[Role.WALL].kind
    for k, (name, words) in enumerate(pairs):
        if name in [before for before, _ in pairs[:k]]:
            cells.bad("other glass", tr("{name} stands there twice", name=name), tr("delete one of them"))
            fine = False
            continue
        text = words.removesuffix(ADVISE).strip()
        advise = text != words
        # advise alone: glass of the kind that the row names
        kind, own = cells.kind("other glass", text or usual if advise else text)
        known = (
            name in roles or name in walls or name.split(" ")[0] in ("divider", "baffle", "overflow", "brace")
        )
        if not known:
            cells.bad(
                "other glass",
                tr("this tank has no {name}", name=name),
                tr(
                    "name a role ({roles}) or a wall ({walls})",
                    roles=", ".join(roles),
                    walls=", ".join(walls),
                ),
            )
        advisable = name in ("walls", "base") or name in walls
        if advise and known and (own is not None or not advisable):
            cells.bad(
                "other glass",
                tr("advice chooses the thickness of walls and base alone"),
                tr("write it as in base: clear advise, or name a thickness"),
                words,
            )
            fine = False
        if kind is None or not known or (own is not None and not cells.worked("other glass", kind, own)):
            fine = False
            continue
        if own is None and advisable:
            own = None if advise else thickness
            if own is not None and not cells.worked("other glass", kind, own):
                fine = False
        elif own is None and roles.get(name) is not Role.BRACE:
            habits = cells.shop.tanks
            least = habits.cover_thickness if name == "covers" else habits.inside_thickness
            own = _next(kind, least)
        glass[roles.get(name, name)] = GlassWish(kind.kind, own)
    return glass if fine else None


def _next(kind: GlassKind, least: int) -> int:
    """The thinnest glass of a kind that is so thick, else its thickest. [nm]"""
    return next((t for t in kind.thicknesses if t >= least), kind.thicknesses[-1])
