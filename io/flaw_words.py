"""Flaws of a sheet in words, and where panels go on their racks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from panewright.io.problems import shown
from panewright.nesting.flaw_hits import carried
from panewright.nesting.flaws import Flaw
from panewright.nesting.plan import Layout
from panewright.nesting.spots import flaws_of
from panewright.nesting.text import tr
from panewright.nesting.units import LengthStyle, show, show_size

KIND_WORDS: Final = {
    "": "flaw",
    "seed": "seed",
    "stone": "stone",
    "scratch": "scratch",
    "rub": "rub",
    "chip": "chip",
    "crack": "crack",
    "stain": "stain",
    "other": "other flaw",
}
"""The kinds as people call them; the empty one is that of which nobody said what it is."""
TOLD: Final = 12
"""More flaws than this are counted in a line of text, not told one by one."""
NAME: Final = 40
"""Characters of the name of a rack that are shown."""


def kind_word(kind: str) -> str:
    """The word for a kind of flaw."""
    return tr(KIND_WORDS[kind]) if kind in KIND_WORDS else kind


def flaw_words(flaw: Flaw, style: LengthStyle | None = None) -> str:
    """A flaw with its size and place: ``scratch 2 x 300 mm at 1200 / 80 mm`` from the lower left corner."""
    return tr(
        "{kind} {size} at {x} / {y}",
        kind=kind_word(flaw.kind),
        size=show_size(flaw.width, flaw.height, style),
        x=show(flaw.x, style, unit=False),
        y=show(flaw.y, style),
    )


def sheet_flaw_words(layout: Layout, style: LengthStyle | None = None) -> list[str]:
    """What is said of the flaws of a sheet: no line, or one of the flaws and one of the tolerated ones."""
    hard = flaws_of(layout)[: len(layout.flaws)]
    out = []
    if hard:
        out.append(tr("flaws: {flaws}", flaws=_told(hard, style)))
    if layout.spots:
        out.append(
            tr("tolerated in places: {flaws}", flaws=_told(layout.spots, style, dict(carried(layout))))
        )
    return out


def flaw_list(layout: Layout, style: LengthStyle | None = None) -> list[str]:
    """The flaws of a sheet one by one, for the notes below its drawing."""
    hard = len(layout.flaws)
    return [
        words if i < hard else tr("{flaw}, tolerated in places", flaw=words)
        for i, words in enumerate(flaw_words(one, style) for one in flaws_of(layout))
    ]


def _told(
    flaws: Iterable[Flaw], style: LengthStyle | None, carriers: Mapping[Flaw, Sequence[str]] | None = None
) -> str:
    found = sorted(flaws)
    words = [flaw_words(one, style) for one in found[:TOLD]]
    for i, one in enumerate(found[:TOLD]):
        if names := (carriers or {}).get(one):
            told = ", ".join(shown(name, 60) for name in names)
            words[i] = tr("{flaw} in {panel}", flaw=words[i], panel=told)
    if len(found) > TOLD:
        words.append(tr("{count} more", count=len(found) - TOLD))
    return "; ".join(words)


def place_words(rack: str, slot: int | None) -> str:
    """A place on a rack; empty without one."""
    if not rack:
        return ""
    return tr("rack {rack}, slot {slot}", rack=shown(rack, NAME), slot=slot or "-")


def goes_to(rack: str, slot: int | None) -> str:
    """Where a panel goes that comes free: ``-> rack H-12, slot 3``; empty without a rack."""
    return f"-> {place_words(rack, slot)}" if rack else ""
