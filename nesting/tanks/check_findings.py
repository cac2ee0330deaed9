"""What the check of a tank says of bedded bases, loose braces and openings."""

from __future__ import annotations

from collections.abc import Iterator

from ..hole_limits import Region, check_openings, counted_thickness
from ..outlines import is_convex, is_rectangle
from ..shop_tanks import BaseSupport
from ..strength.verdict import BaseVerdict, Outcome, WallVerdict
from ..text import tr, tr_count
from .build import Built
from .made import Finding
from .tops import cross_places


def about_base(built: Built) -> Iterator[Finding]:
    """How the base counts: bedded, held at its rim, or not at all."""
    tank, vessel = built.tank, built.vessel
    if tank.base is BaseSupport.BEDDED:
        yield Finding(
            panel="base",
            words=tr("not computed: it must lie bedded on its whole area, level and firm"),
        )
        if vessel.base_thickness < max(vessel.wall_thickness):
            yield Finding(
                panel="base",
                words=tr("thinner than the thickest wall"),
                remedy=tr("take at least the glass of the walls for it"),
                loud=True,
            )
    elif not is_convex(vessel.inner):
        yield Finding(
            panel="base",
            words=tr("not computed: on its rim it is stressed most where it turns inwards"),
            remedy=tr("bed it on its whole area, or have it calculated by a qualified person"),
            loud=True,
        )
    elif not is_rectangle(vessel.inner):
        yield Finding(
            panel="base",
            words=tr("computed as the rectangle around it, which is on the safe side"),
        )


def about_braces(built: Built, front: WallVerdict | None) -> Iterator[Finding]:
    """Cross braces beyond those that counted for the front: they are bonded to nothing."""
    if front is None:
        return
    loose = len(cross_places(built.tank, built.vessel)) - len(front.case.top.braces)
    if loose:
        yield Finding(
            panel="",
            words=tr_count(
                "a cross brace ends at a notch, or where one takes the rim brace away: it holds nothing and is"
                " not counted",
                "{count} cross braces end at a notch, or where one takes the rim brace away: they hold nothing"
                " and are not counted",
                loose,
            ),
            remedy=tr("move the notch or the brace"),
            loud=True,
        )


def about_openings(
    built: Built,
    walls: tuple[tuple[str, WallVerdict | None], ...],
    base: BaseVerdict | None,
    region: Region,
) -> Iterator[Finding]:
    """Openings beyond published limits, and what the plate says of each."""
    verdicts: dict[str, WallVerdict | BaseVerdict | None] = {**dict(walls), "base": base}
    for piece in built.pieces:
        if not piece.openings:
            continue
        for found in check_openings(
            piece.finished, counted_thickness(piece.thickness, region), piece.openings, region
        ):
            yield Finding(
                panel=piece.name,
                words=found.words,
                remedy=found.remedy,
                loud=not found.soft,
            )
        verdict = verdicts.get(piece.name)
        if verdict is None:
            yield Finding(
                panel=piece.name,
                words=tr("the stress at its openings is not checked"),
                loud=True,
            )
            continue
        for said in dict.fromkeys(o.words for o in verdict.openings):
            loud = any(o.words == said and o.outcome is not Outcome.ENOUGH for o in verdict.openings)
            yield Finding(panel=piece.name, words=said, loud=loud)
