"""A picture of yield and waste: one bar a glass, as long as its share of the sheets taken, in parts of one look each."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from panewright.io import palette
from panewright.io.numbers_text import said_metres
from panewright.io.palette import Layer
from panewright.io.problems import shown
from panewright.io.scene_model import Line, Polyline, Scene, Sketch, Text, Tint, text_width
from panewright.nesting.figures import Figures, PlanFigures
from panewright.nesting.outlines import rectangle
from panewright.nesting.plan import Plan
from panewright.nesting.text import local_number, tr
from panewright.nesting.units import mm

WIDE: Final = mm(180)
"""Length of a whole bar. [nm]"""
GRAIN: Final = mm("2.6")
BAR: Final = mm(11)
STEP: Final = mm(20)


def shares_of(figures: Figures) -> list[tuple[Layer, int]]:
    """The parts of the sheets taken, in drawing order. [twice nm2]"""
    parts = (figures.cut, figures.spare + figures.filler, figures.offcut, figures.trim, figures.cullet)
    return list(zip(palette.SHARES, parts, strict=True))


def per_cent(part: int, whole: int) -> str:
    """A share in per cent with one decimal."""
    tenths = round(Fraction(1000 * part, whole)) if whole else 0
    return local_number(f"{tenths // 10}.{tenths % 10} %")


def waste_scene(plan: Plan, figures: PlanFigures, glasses: Sequence[str]) -> Scene:
    """The bars of some glasses, the total first; every bar is 100 per cent of its sheets.

    Parameters
    ----------
    plan, figures
        The plan and its figures.
    glasses
        Keys of the glasses to show; no sheet of another is shown.
    """
    sketch = Sketch(GRAIN)
    rows = [(tr("all glass"), figures.total)]
    rows += [(shown(glass, 40), figures.by_glass[glass]) for glass in glasses]
    y = 0
    for name, found in rows:
        _bar(sketch, name, found, y)
        y -= STEP
    _key(sketch, y + STEP - BAR - 3 * GRAIN)
    return sketch.scene(tr("yield and waste of plan {plan}", plan=shown(plan.id, 20)))


def _bar(sketch: Sketch, name: str, figures: Figures, top: int) -> None:
    head = tr(
        "{name}: {area} m2 taken, {share} cut to panels",
        name=name,
        area=said_metres(figures.sheet),
        share=per_cent(figures.cut, figures.sheet),
    )
    sketch.add(Text(palette.TITLE, head, (0, top + GRAIN // 2), GRAIN))
    if not figures.sheet:
        return
    done = 0
    lane = 0
    for layer, part in shares_of(figures):
        if part <= 0:
            continue
        x0, x1 = WIDE * done // figures.sheet, WIDE * (done + part) // figures.sheet
        done += part
        if x1 <= x0:
            continue
        outline = rectangle(x1 - x0, BAR, x0, top - BAR)
        sketch.add(Tint(layer, outline), Polyline(layer, outline))
        words, high = per_cent(part, figures.sheet), round(0.85 * GRAIN)
        need = text_width(words, high) + GRAIN
        middle = ((x0 + x1) // 2, top - BAR // 2)
        if need <= x1 - x0:
            # hatching must not run through figures
            plate = rectangle(need, 2 * high, middle[0] - need // 2, middle[1] - high)
            sketch.add(
                Tint(palette.OPENING, plate), Text(palette.NOTES, words, middle, high, "centre", "middle")
            )
        else:
            # too narrow: the figure stands below, the next one a line further down
            low = top - BAR - round((1.2 + 1.3 * (lane % 2)) * GRAIN)
            sketch.add(
                Line(palette.MEASURE, (middle[0], top - BAR), (middle[0], low + high)),
                Text(palette.NOTES, words, (middle[0], low), high, "centre"),
            )
            lane += 1


def _key(sketch: Sketch, y: int) -> None:
    x = 0
    for layer in palette.SHARES:
        swatch = rectangle(4 * GRAIN, 2 * GRAIN, x, y - 2 * GRAIN)
        words = tr(layer.words)
        sketch.add(Tint(layer, swatch), Polyline(layer, swatch))
        sketch.add(Text(palette.NOTES, words, (x + 5 * GRAIN, y - GRAIN), GRAIN, "left", "middle"))
        x += 7 * GRAIN + text_width(words, GRAIN)
