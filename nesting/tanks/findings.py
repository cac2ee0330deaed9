"""What is to be said about the panels of a tank: what the table, the edging line or the joints do not like."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from ..blanks import candidates
from ..edging_line import Limit, beyond_the_line
from ..errors import InvalidOutline
from ..glass import glass_key
from ..hole_limits import region_of
from ..outlines import is_rectangle, narrower_than
from ..shape_findings import shape_findings
from ..shop import Shop
from ..text import local_number, tr
from ..tips import TipRule
from ..units import mm, show
from .build import Built
from .cut import piece_shape
from .made import Finding, TankPiece
from .tank import OpeningKind, Role
from .walls import EndKind

LEAST_JOINT: Final = mm("0.5")
"""Least thickness of a bonded joint (0.5 to 1 mm, a trade page on tank building)."""


def findings(built: Built, shop: Shop) -> list[Finding]:
    """Everything worth knowing about a tank's panels, in their order; the tank's own come last."""
    found = [
        f for piece in built.pieces for f in (*_scoring(piece, shop, built.tank.tips), *_edging(piece, shop))
    ]
    return together([*found, *_joints(built), *_braces(built)])


def together(found: Iterable[Finding]) -> list[Finding]:
    """Findings that say the same of several panels as one, in the order in which each comes first."""
    groups: dict[tuple[str, str, bool], list[str]] = {}
    for finding in found:
        names = groups.setdefault((finding.words, finding.remedy, finding.loud), [])
        if finding.panel not in names:
            names.append(finding.panel)
    return [
        Finding(panel=", ".join(filter(None, names)), words=words, remedy=remedy, loud=loud)
        for (words, remedy, loud), names in groups.items()
    ]


def removable_rule() -> str:
    """The rule that stands wherever a tank with a removable cross brace is spoken of."""
    return tr("Removable cross brace: take it out only when the tank is empty.")


def _scoring(piece: TankPiece, shop: Shop, tips: TipRule) -> Iterator[Finding]:
    try:
        shape = piece_shape(piece, shop, tips)
    except InvalidOutline:
        return
    cut = shape.outline
    rules = shop.rules(glass_key(piece.kind, piece.thickness))
    region = region_of(shop.list_unit)
    for found in shape_findings(piece.finished, piece.edges, shape, rules, piece.thickness, region):
        yield Finding(panel=piece.name, words=found.words, remedy=found.remedy, loud=True)
    turns = shop.kinds[piece.kind].turn
    if not is_rectangle(cut) and not candidates(cut, turns, rules):
        if candidates(cut, turns, replace(rules, longest_angled_cut=None)):
            yield Finding(
                panel=piece.name,
                words=tr(
                    "needs an angled score longer than {most}", most=show(rules.longest_angled_cut or 0)
                ),
                remedy=tr("change the outline, or set longest_angled_score in the shop file"),
                loud=True,
            )
        else:
            yield Finding(
                panel=piece.name,
                words=tr(
                    "a corner beside it in a blank of its own is less than {depth} deep, or too sharp to break off: "
                    "it is cut beside another panel, or stands askew where it may turn freely",
                    depth=show(rules.corner_depth),
                ),
                remedy=tr("two of a kind share one score: order it in pairs where it can be"),
            )
    if narrower_than(cut, rules.break_out):
        yield Finding(
            panel=piece.name,
            words=tr(
                "narrower than {distance} can be broken off",
                distance=show(rules.break_out),
            ),
            remedy=tr("make it wider, or cut it by hand from a wider piece"),
            loud=True,
        )


def _edging(piece: TankPiece, shop: Shop) -> Iterator[Finding]:
    line = shop.edging
    for found in beyond_the_line(piece.finished, piece.edges, line):
        match found.limit:
            case Limit.WIDTH:
                yield Finding(
                    panel=piece.name,
                    words=tr(
                        "narrower than the {least} that the edging line takes", least=show(line.least_width)
                    ),
                    remedy=tr("edge it as part of a wider plate before it is divided, or by hand"),
                )
            case Limit.LENGTH:
                yield Finding(
                    panel=piece.name,
                    words=tr(
                        "an edge of {length}; the edging line takes {most}",
                        length=show(found.value),
                        most=show(line.greatest_length),
                    ),
                    remedy=tr("edge it by hand, or have it edged elsewhere"),
                )
            case Limit.HEIGHT:
                yield Finding(
                    panel=piece.name,
                    words=tr(
                        "stands {height} high on the edging line, which takes {most}",
                        height=show(found.value),
                        most=show(line.greatest_height),
                    ),
                    remedy=tr("edge it by hand, or have it edged elsewhere"),
                )
            case Limit.MITRE:
                yield Finding(
                    panel=piece.name,
                    words=tr(
                        "a mitre of {angle} degrees; the edging line makes {most}",
                        angle=local_number(f"{found.value / 1000:g}"),
                        most=local_number(f"{line.greatest_mitre / 1000:g}"),
                    ),
                    remedy=tr("order butt corners, or have it ground by hand"),
                    loud=True,
                )


def _joints(built: Built) -> Iterator[Finding]:
    tank, vessel = built.tank, built.vessel
    if tank.joint < LEAST_JOINT:
        yield Finding(
            panel="",
            words=tr("the joints are only {joint} thick", joint=show(tank.joint)),
            remedy=tr(
                "silicone wants {least} to {better} at least", least=show(LEAST_JOINT), better=show(mm(1))
            ),
            loud=True,
        )
    n = len(vessel.ends)
    for i, wall in enumerate(vessel.ends):
        for end, other in ((wall.left, (i - 1) % n), (wall.right, (i + 1) % n)):
            meets = vessel.ends[other].right if end is wall.left else vessel.ends[other].left
            if end.kind is EndKind.THROUGH and meets.mitre:
                yield Finding(
                    panel=tank.shape.walls[i],
                    words=tr(
                        "runs through at a corner that is not square: its end stands out over the base",
                    ),
                    remedy=tr("order mitred corners for a flush outside"),
                )


def _braces(built: Built) -> Iterator[Finding]:
    notched = {w.panel for w in built.tank.openings if w.kind is OpeningKind.NOTCH}
    for name in built.tank.shape.walls:
        if built.tank.top.rim is not None and name in notched:
            yield Finding(
                panel=name,
                words=tr("its rim brace leaves out the notch, and does not count for its strength"),
            )
    if any(some.removable for some in built.tank.top.cross):
        yield Finding(
            panel="",
            words=removable_rule(),
            loud=True,
        )
    if built.tank.top.framed and any(p.role is Role.WALL for p in built.pieces):
        yield Finding(
            panel="",
            words=tr(
                "The frame is no glass and is not in the list; it counts for strength as the shop says."
            ),
        )
