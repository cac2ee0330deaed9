"""The outline of a panel in a list: width and height, corners, or a drawing beside the list."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Final

from panewright.io.lengths import BadValue, parse_length
from panewright.io.panel_edges import MAX_CORNERS, parse_corners
from panewright.io.problems import Problems
from panewright.io.row_cells import NO, YES, Cells
from panewright.nesting.errors import InvalidOutline
from panewright.nesting.outlines import FLAT, Outline, Traced, box, rectangle, traced
from panewright.nesting.shape_findings import listed
from panewright.nesting.straight_edges import NOISE, Line, Straightened, straightened
from panewright.nesting.text import tr
from panewright.nesting.tips import TipRule
from panewright.nesting.units import LengthStyle, mm, show, show_size

LEAST_SIDE: Final = mm(10)
GREATEST_SIDE: Final = mm(7000)
SUSPICIOUS_SIDE: Final = mm(100)
"""A panel with no side longer than this is more likely typed in the wrong unit."""
GREATEST_REACH: Final = mm(500)
TOLD: Final = 1000
"""Corners that move by less when edges are laid straight move silently, as in `FLAT`. [nm]"""
NAMED: Final = 4
"""Lines that a note names one by one."""
_FINE: Final = LengthStyle("mm", 3)


@dataclass(frozen=True, slots=True)
class FoundOutline:
    """The finished outline of a row.

    Parameters
    ----------
    traced
        Its lower left at 0, 0, and which listed corner each of its corners is.
    count
        Corners in the list; 4 where width and height stand for them.
    column
        Where it stands: ``width``, ``corners`` or ``drawing``.
    """

    traced: Traced
    count: int
    column: str

    @property
    def outline(self) -> Outline:
        """The finished outline. [nm]"""
        return self.traced.outline


def read_outline_of(cells: Cells, folder: Path, problems: Problems) -> FoundOutline | None:
    """The finished outline of a row with a single panel; None where something is wrong.

    Parameters
    ----------
    cells
        The row.
    folder
        Where drawings are looked for.
    problems
        Collects what is wrong with a drawing.
    """
    if cells.text("drawing"):
        if cells.text("corners"):
            cells.bad("drawing", tr("the row has corners as well"), tr("leave one of both cells empty"))
            return None
        drawn = drawn_outline(cells, folder, problems, _between_unlike(cells))
        if drawn is None:
            return None
        found = FoundOutline(Traced(drawn.outline, drawn.kept), drawn.count, "drawing")
        off = bool(drawn.lines)
    elif cells.text("corners"):
        corners = _corners(cells)
        if corners is None:
            return None
        found, off = corners
    else:
        width, height = cells.length("width"), cells.length("height")
        if width is None or height is None:
            return None
        if min(width, height) <= 0:
            name = "width" if width <= 0 else "height"
            cells.bad(name, tr("the size is 0"), tr("correct it"))
            return None
        return FoundOutline(Traced(rectangle(width, height), (0, 1, 2, 3)), 4, "width")
    _, _, x1, y1 = box(found.outline)
    # a size taken from the outline as drawn is right as well
    most = NOISE if off else 0
    for name, size in (("width", x1), ("height", y1)):
        if cells.text(name):
            given = cells.length(name)
            if given is not None and abs(given - size) > most:
                cells.bad(
                    name,
                    tr("the outline spans {size}, not {given}", size=show(size), given=show(given)),
                    tr("correct one of them, or leave the cell empty"),
                )
    return found


def _corners(cells: Cells) -> tuple[FoundOutline, bool] | None:
    """The outline of listed corners, and whether edges of it were laid straight."""
    try:
        corners = parse_corners(cells.text("corners"), cells.corner_unit(), cells.table.decimal)
        if len(corners) > 1 and corners[0] == corners[-1]:
            corners.pop()  # many lists close the outline by its first corner
        found = traced(corners, FLAT)
    except (BadValue, InvalidOutline) as error:
        cells.bad("corners", error.reason, error.remedy)
        return None
    unlike = _between_unlike(cells)
    straight = straightened(found.outline, fixed=[i for i, k in enumerate(found.listed) if k in unlike])
    note_straight(cells, "corners", straight.lines, found.names)
    x0, y0, _, _ = box(straight.outline)
    outline = tuple((x - x0, y - y0) for x, y in straight.outline)
    kept = Traced(outline, tuple(found.listed[i] for i in straight.kept))
    return FoundOutline(kept, len(corners), "corners"), bool(straight.lines)


def _between_unlike(cells: Cells) -> set[int]:
    """Indexes of the corners at which the row has unlike edgework on both sides."""
    words = [" ".join(part.casefold().split()) for part in cells.text("edges").split("|")]
    return {k for k, word in enumerate(words) if word != words[k - 1]}


def note_straight(cells: Cells, column: str, lines: Sequence[Line], names: Sequence[int]) -> None:
    """Say which corners were laid on a level or an upright line.

    Parameters
    ----------
    cells, column
        Where the outline stands.
    lines
        What was laid straight.
    names
        Numbers of the corners.
    """
    told = [line for line in lines if line.off >= TOLD]
    if not told:
        return
    words = []
    for line in told[:NAMED]:
        numbers, off = listed(sorted(names[i] for i in line.corners)), show(line.off, _FINE)
        if line.axis:
            words.append(tr("corners {numbers} are taken as level: {off} off", numbers=numbers, off=off))
        else:
            words.append(tr("corners {numbers} are taken as upright: {off} off", numbers=numbers, off=off))
    if len(told) > NAMED:
        words.append(tr("and {count} more", count=len(told) - NAMED))
    cells.note(
        column,
        ", ".join(words),
        tr("where a slant is meant, give it by more than {most}", most=show(NOISE, _FINE)),
    )


def drawn_outline(
    cells: Cells, folder: Path, problems: Problems, fixed: Collection[int] = range(MAX_CORNERS)
) -> Straightened | None:
    """The outline of the drawing that a row names, its edges laid straight; None with the problems noted.

    Parameters
    ----------
    cells
        The row.
    folder
        Where the drawing is looked for.
    problems
        Collects what is wrong with it.
    fixed
        Indexes of the corners that may not go.
    """
    from panewright.io.dxf_outline import read_outline

    text = cells.text("drawing")
    parts = (*PurePosixPath(text).parts, *PureWindowsPath(text).parts)
    if not text or ".." in parts or PurePosixPath(text).is_absolute() or PureWindowsPath(text).drive:
        cells.bad(
            "drawing", tr("this is no file beside the list"), tr("name a DXF file in the folder of the list")
        )
        return None
    drawn = read_outline(folder / text, problems, fixed=fixed)
    if drawn is None:
        cells.bad("drawing", tr("this drawing cannot be used"), tr("see what is said of it"))
    else:
        note_straight(cells, "drawing", drawn.lines, range(1, MAX_CORNERS + 1))
    return drawn


def check_size(cells: Cells, found: FoundOutline) -> None:
    """Sizes that no panel of a tank has, and sizes that look typed in the wrong unit."""
    _, _, width, height = box(found.outline)
    single = None if found.column == "width" else found.column
    named = any(cells.named_unit(n) for n in ((single,) if single else ("width", "height")))
    unit_remedy = tr("if it is in another unit, write mm or in in the column unit or behind the number")
    for name, side in (("width", width), ("height", height)):
        where = single or name
        if side < LEAST_SIDE:
            cells.bad(
                where,
                tr("{side} is below the least side {least}", side=show(side), least=show(LEAST_SIDE)),
                unit_remedy,
            )
        elif side > GREATEST_SIDE:
            cells.bad(
                where,
                tr("{side} is above the greatest side {most}", side=show(side), most=show(GREATEST_SIDE)),
                unit_remedy,
            )
    if found.column == "drawing":
        return  # a drawing names its unit
    if LEAST_SIDE <= max(width, height) < SUSPICIOUS_SIDE and min(width, height) >= LEAST_SIDE:
        inch_shop = cells.shop.list_unit == "in"
        if not named and not inch_shop:
            cells.bad(
                found.column,
                tr("a panel of {size} is so small that the unit is in doubt", size=show_size(width, height)),
                tr("write mm or in in the column unit or behind the numbers"),
            )
        elif inch_shop and cells.in_mm(found.column):
            cells.bad(
                found.column,
                tr("a panel of {size} in a shop that works in inches", size=show_size(width, height)),
                tr("if the figures are inches, take mm away; if not, write the size in inches"),
            )


def read_tips(cells: Cells) -> TipRule:
    """What a row says of sharp corners: the shop's habit, ``keep``, ``cut back``, or how far they may reach."""
    shop, text = cells.shop.tips, " ".join(cells.text("tips").casefold().split())
    if not text:
        return shop
    if text == "cut back" or text in YES[:3]:
        return replace(shop, cut_back=True)
    if text == "keep" or text in NO[:3]:
        return replace(shop, cut_back=False)
    try:
        reach = parse_length(text, cells.unit, cells.table.decimal)
    except BadValue:
        reach = 0
    if not 0 < reach <= GREATEST_REACH:
        cells.bad(
            "tips",
            tr("this is neither keep nor cut back nor a length up to {most}", most=show(GREATEST_REACH)),
            tr("write cut back, or how far a tip may reach beyond the finished corner, as in 5 mm"),
        )
        return shop
    return TipRule(cut_back=True, times=shop.times, reach=reach)
