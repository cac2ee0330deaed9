"""The answers to `--why` for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from panewright.io.numbers_text import length, money, square_metres
from panewright.nesting.why import Why


def why_json(answers: Sequence[Why]) -> dict[str, Any]:
    """All answers by glass (write them with `numbers_text.spread`)."""
    return {
        one.glass: {
            "sheets": one.sheets,
            "cost": money(one.cost),
            "in_panels": money(one.in_panels),
            "unavoidable": money(one.unavoidable),
            "rest": money(one.rest),
            "bound": {
                "cost": money(one.bound.cost),
                "sheets": one.bound.sheets,
                "by": one.bound.by,
                "class": one.bound.valid_for,
            },
            "fewer_sheets": {
                "ruled_out": one.fewer.ruled_out,
                "without": one.fewer.stock,
                "room_m2": square_metres(2 * one.fewer.room),
                "panels_m2": square_metres(2 * one.fewer.panels),
            },
            "one_more": [{"stock": piece.name, "saves": money(worth)} for piece, worth in one.premiums],
            "other_sizes": [
                {"width": length(piece.width), "height": length(piece.height), "pays_below": money(worth)}
                for piece, worth in one.other_sizes
            ],
            "rules": [
                {"rule": r.rule, "found": money(r.found), "at_most": money(r.most), "panels": r.panels}
                for r in one.rules
            ],
            "panels": [
                {
                    "panel": p.panel.id,
                    "pieces": p.pieces,
                    "cost": money(p.cost),
                    "waste": money(p.waste),
                    "bound_effect": money(p.bound_effect),
                }
                for p in one.panels
            ],
        }
        for one in answers
    }
