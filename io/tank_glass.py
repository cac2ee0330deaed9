"""The glass of a tank order: for the whole tank, and for single roles and panels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panewright.io.lengths import BadValue
from panewright.io.row_cells import Cells
from panewright.io.tank_words import named
from panewright.nesting.glass import designation, glass_key
from panewright.nesting.shop import GlassKind, Process
from panewright.nesting.tanks.tank import GlassWish, Role
from panewright.nesting.text import tr

ADVISE: Final = "advise"
"""In the column ``thickness``: the thickness check chooses."""


def tank_glass(cells: Cells, walls: Sequence[str]) -> dict[Role | str, GlassWish] | None:
    """The glass of every role, and of single panels by name; None where something is wrong.

    Walls and base take the row's thickness, braces that of the walls, covers and interior panels that
    of the shop's habits, unless the column ``other glass`` says more.
    """
    kind, thickness = _kind(cells, "glass", cells.text("glass"))
    if kind is None:
        return None
    given = cells.text("thickness")
    advise = given.strip().lower() == ADVISE
    if given and not advise:
        stated = cells.thickness()
        if stated is None:
            return None
        if thickness is not None and stated != thickness:
            cells.bad(
                "thickness",
                tr("the thickness does not agree with the glass {glass}", glass=cells.text("glass")),
                tr("correct one of them"),
            )
            return None
        thickness = stated
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
    if thickness is not None and not _has(cells, kind, thickness, "thickness" if given else "glass"):
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
    try:
        pairs = named(cells.text("other glass"))
    except BadValue as error:
        cells.bad("other glass", error.reason, error.remedy)
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
        kind, own = _kind(cells, "other glass", text or usual if advise else text)
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
        if kind is None or not known or (own is not None and not _has(cells, kind, own, "other glass")):
            fine = False
            continue
        if own is None and advisable:
            own = None if advise else thickness
            if own is not None and not _has(cells, kind, own, "other glass"):
                fine = False
        elif own is None and roles.get(name) is not Role.BRACE:
            habits = cells.shop.tanks
            least = habits.cover_thickness if name == "covers" else habits.inside_thickness
            own = _next(kind, least)
        glass[roles.get(name, name)] = GlassWish(kind.kind, own)
    return glass if fine else None


def _kind(cells: Cells, column: str, text: str) -> tuple[GlassKind | None, int | None]:
    """Kind, and thickness [nm] where the text is a whole key; a problem where it is neither."""
    name, thickness = cells.kind_and_key(text)
    kind = cells.shop.kinds.get(name) if name else None
    if kind is None:
        cells.bad(
            column,
            tr("the cell is empty") if not text else tr("this glass is not known"),
            tr("the shop has {kinds}", kinds=", ".join(sorted(cells.shop.kinds)) or tr("none")),
            text,
        )
        return None, None
    if kind.process is not Process.CUT:
        cells.bad(
            column,
            tr("{kind} glass cannot be cut here", kind=kind.kind),
            tr("order the raw glass that it is made from"),
            text,
        )
        return None, None
    return kind, thickness


def _has(cells: Cells, kind: GlassKind, thickness: int, column: str) -> bool:
    if cells.shop.has(glass_key(kind.kind, thickness)):
        return True
    cells.bad(
        column,
        tr(
            "the shop has no {kind} glass of {thickness} mm", kind=kind.kind, thickness=designation(thickness)
        ),
        tr(
            "it has {list} mm; add others to the shop file",
            list=", ".join(designation(t) for t in kind.thicknesses) or tr("none"),
        ),
    )
    return False


def _next(kind: GlassKind, least: int) -> int:
    """The thinnest glass of a kind that is so thick, else its thickest. [nm]"""
    return next((t for t in kind.thicknesses if t >= least), kind.thicknesses[-1])
