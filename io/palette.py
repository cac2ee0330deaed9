"""Layers of all drawings: our own names, colours and line weights.

The colours stay apart for people who see colours otherwise (they differ in lightness too), and none
of them drowns on a light or a dark screen. On a black and white print the weights and dashes carry
the meaning.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from panewright.nesting.plan import Cut, CutKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer.

    Parameters
    ----------
    name
        Letters, figures and dashes alone: every program takes that.
    colour
        ``#rrggbb``; None is ink, black on paper and white on a dark screen.
    weight
        Line weight, one of the weights that DXF knows. [1/100 mm]
    dashes
        Lengths of dash, gap, dash, gap ... in text heights of the drawing; empty: a full line.
    words
        What lines on it mean, for the key of the drawing; empty where they speak for themselves.
    """

    name: str
    colour: str | None = None
    weight: int = 18
    dashes: tuple[float, ...] = ()
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatching:
    """Parallel lines over a tint, so that areas stay apart in black and white.

    Parameters
    ----------
    along
        Direction of the lines.
    pitch
        From line to line, in text heights of the drawing.
    dashes
        As of a layer; dashes of length 0 are round dots.
    weight
        [1/100 mm]
    colour
        ``#rrggbb``.
    """

    along: tuple[int, int]
    pitch: float
    dashes: tuple[float, ...] = ()
    weight: int = 13
    colour: str


BLUE: Final = "#2a6fb0"
BRICK: Final = "#c4512d"
GREEN: Final = "#1f8a70"
PLUM: Final = "#9a4f96"
OCHRE: Final = "#b98300"
SLATE: Final = "#7c8791"
ROSE: Final = "#d0507f"

SHEET: Final = Layer(name="SHEET-EDGE", weight=70)
TRIM_LIMIT: Final = Layer(name="TRIM-LIMIT", colour=SLATE, weight=13, dashes=(0.2, 0.5), words="trim limit")
FLAW: Final = Layer(name="FLAW", colour=BRICK, weight=35, words="flaw")
SPOT: Final = Layer(name="SPOT", colour=BRICK, weight=25, dashes=(0.4, 0.3), words="flaw tolerated in places")
FLAW_SIGN: Final = Layer(name="SIGN-FLAW", colour=BRICK, weight=18)
PANEL_CUT: Final = Layer(name="PANEL-CUT", weight=18)
PANEL_FINISHED: Final = Layer(name="PANEL-FINISHED", colour=SLATE, weight=13, words="finished outline")
PANEL_TEXT: Final = Layer(name="PANEL-TEXT", weight=18)
OFFCUT: Final = Layer(name="OFFCUT", colour=OCHRE, weight=35, words="offcut, keep")
OFFCUT_TEXT: Final = Layer(name="OFFCUT-TEXT", weight=18)
CULLET: Final = Layer(name="CULLET", colour=SLATE, weight=13, words="cullet")
SCORE_TRIM: Final = Layer(name="SCORE-TRIM", colour=SLATE, weight=35, dashes=(0.8, 0.4), words="trim")
SCORE_1: Final = Layer(name="SCORE-1", colour=BLUE, weight=100, words="level 1")
SCORE_2: Final = Layer(name="SCORE-2", colour=BRICK, weight=70, dashes=(1.8, 0.5), words="level 2")
SCORE_3: Final = Layer(name="SCORE-3", colour=GREEN, weight=50, dashes=(0.9, 0.4), words="level 3")
SCORE_4: Final = Layer(
    name="SCORE-4-UP", colour=PLUM, weight=35, dashes=(1.4, 0.4, 0.3, 0.4), words="level 4 and up"
)
SCORE_LAST: Final = Layer(name="SCORE-LAST", colour=OCHRE, weight=35, dashes=(0.4, 0.3), words="last cut")
SCORE_SHAPE: Final = Layer(
    name="SCORE-SHAPE", colour=ROSE, weight=70, dashes=(1.8, 0.4, 0.3, 0.4, 0.3, 0.4), words="shape cut"
)
MARK: Final = Layer(name="MARK", colour=ROSE, weight=18)
STEP_NUMBER: Final = Layer(name="STEP-NUMBER", weight=25)
MEASURE: Final = Layer(name="MEASURE", weight=18)
TITLE: Final = Layer(name="TITLE", weight=25)
NOTES: Final = Layer(name="NOTES", weight=18)
EDGEWORK: Final = Layer(name="EDGEWORK", colour=BLUE, weight=25)
POCKET: Final = Layer(
    name="POCKET",
    colour=BRICK,
    weight=35,
    dashes=(0.6, 0.5),
    words="pocket: sawn, drilled or cut by water jet",
)
OPENING: Final = Layer(name="OPENING", colour=PLUM, weight=25, words="opening: drilled or sawn, not scored")

SHARE_PANELS: Final = Layer(name="SHARE-PANELS", weight=35, words="panels of orders")
SHARE_MORE: Final = Layer(name="SHARE-MORE", weight=25, words="spares and fillers")
SHARE_KEPT: Final = Layer(name="SHARE-KEPT", weight=25, words="offcuts kept")
SHARE_TRIM: Final = Layer(name="SHARE-TRIM", weight=25, words="trim")
SHARE_CULLET: Final = Layer(name="SHARE-CULLET", weight=25, words="cullet")

SHARES: Final = (SHARE_PANELS, SHARE_MORE, SHARE_KEPT, SHARE_TRIM, SHARE_CULLET)
"""Parts of the sheets taken, in pictures of yield and waste."""

LAYERS: Final = (
    SHEET,
    TRIM_LIMIT,
    FLAW,
    SPOT,
    FLAW_SIGN,
    PANEL_CUT,
    PANEL_FINISHED,
    PANEL_TEXT,
    OFFCUT,
    OFFCUT_TEXT,
    CULLET,
    SCORE_TRIM,
    SCORE_1,
    SCORE_2,
    SCORE_3,
    SCORE_4,
    SCORE_LAST,
    SCORE_SHAPE,
    MARK,
    STEP_NUMBER,
    MEASURE,
    TITLE,
    NOTES,
    EDGEWORK,
    POCKET,
    OPENING,
)

KEYS: Final = {layer.name: replace(layer, name=f"KEY-{layer.name}") for layer in (FLAW, SPOT)}
"""Layers of the key of the lines, where nothing but flaws may lie on their own one: others read them there."""

TINTS: Final = {
    PANEL_CUT.name: "#f1f6fb",
    OFFCUT.name: "#fcf3d9",
    CULLET.name: "#e9ebed",
    POCKET.name: "#fbe9e3",
    OPENING.name: "#ffffff",
    SHARE_PANELS.name: "#dbe8f4",
    SHARE_MORE.name: "#eaf3ef",
    SHARE_KEPT.name: "#fcf3d9",
    SHARE_TRIM.name: "#f3f4f5",
    SHARE_CULLET.name: "#d9dcdf",
}
"""Light fills, where a format has them."""

HATCHINGS: Final = {
    OFFCUT.name: Hatching(along=(1, -1), pitch=1.1, dashes=(0, 1.1), weight=35, colour=OCHRE),
    CULLET.name: Hatching(along=(1, 1), pitch=0.7, weight=13, colour=SLATE),
    SHARE_MORE.name: Hatching(along=(1, 0), pitch=0.8, weight=13, colour=SLATE),
    SHARE_KEPT.name: Hatching(along=(1, -1), pitch=0.8, dashes=(0, 0.8), weight=35, colour=OCHRE),
    SHARE_TRIM.name: Hatching(along=(0, 1), pitch=0.5, weight=13, colour=SLATE),
    SHARE_CULLET.name: Hatching(along=(1, 1), pitch=0.5, weight=13, colour=SLATE),
}
"""Lines over the tint: dots for what is kept, close slanting lines for what is thrown away."""


def score_layer(cut: Cut) -> Layer:
    """The layer of a cut, by its kind and level."""
    match cut.kind:
        case CutKind.TRIM:
            return SCORE_TRIM
        case CutKind.LAST:
            return SCORE_LAST
        case CutKind.SHAPE:
            return SCORE_SHAPE
        case CutKind.MAIN:
            return (SCORE_1, SCORE_2, SCORE_3, SCORE_4)[min(max(cut.level or 1, 1), 4) - 1]
