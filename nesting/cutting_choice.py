"""Cutting rules as the shop file sets them: for every glass, and for some glasses."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .rules import Rules
from .stock import Trim


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingChoice:
    """Cutting rules as far as the shop sets them; None leaves what was chosen before.

    Parameters
    ----------
    levels, longest_cut, longest_angled_cut, inner_radius
        0 for free levels, for no longest score and for no stated radius.
    mark_step
        0 for exact marks.
    largest_piece
        (0, 0) for none.
    level1_width
        (0, None) for any width.
    trim
        Trims of the four raw sides. [nm]

    The other fields are those of `Rules`. [nm, 1/1000 degree]
    """

    break_out: int | None = None
    levels: int | None = None
    last_cut: bool | None = None
    longest_cut: int | None = None
    level1_gap: tuple[int, int | None] | None = None
    largest_piece: tuple[int, int] | None = None
    least_offcut: tuple[int, int] | None = None
    corner_depth: int | None = None
    least_angle: int | None = None
    longest_angled_cut: int | None = None
    mark_step: int | None = None
    inner_radius: int | None = None
    level1_width: tuple[int, int | None] | None = None
    level2_width: int | None = None
    least_waste: int | None = None
    deepest_once: bool | None = None
    trim: Trim | None = None

    def over(self, rules: Rules) -> Rules:
        """The rules with this choice laid over them."""
        chosen = {
            name: getattr(self, name)
            for name in Rules.__dataclass_fields__
            if getattr(self, name, None) is not None
        }
        for name in (
            "levels",
            "longest_cut",
            "largest_piece",
            "longest_angled_cut",
            "mark_step",
            "inner_radius",
        ):
            if chosen.get(name, "") in (0, (0, 0)):
                chosen[name] = None
        return replace(rules, **chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassChoice:
    """Cutting rules for some glasses: of one kind, one thickness, or from a thickness on.

    Parameters
    ----------
    kind
        Only this kind; None for every kind.
    thickness
        Only this nominal thickness; None for every thickness. [nm]
    thickness_from
        Only from this nominal thickness on. [nm]
    choice
        What is set for them.
    """

    kind: str | None = None
    thickness: int | None = None
    thickness_from: int = 0
    choice: CuttingChoice

    def meets(self, kind: str, thickness: int) -> bool:
        """Whether it speaks of this glass. Thickness in [nm]."""
        return (
            self.kind in (None, kind)
            and self.thickness in (None, thickness)
            and thickness >= self.thickness_from
        )
