"""What a check found: stresses, bow, bond, how far each limit is used, and words for them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from ..openings import Opening
from ..text import local_number, tr
from .cases import BaseCase, WallCase


class Where(Enum):
    """Where on a plate something is greatest."""

    TOP_CENTRE = "top centre"
    TOP = "top edge"
    BRACE = "top edge at a cross brace"
    JOINTS = "near the vertical joints"
    FOOT = "near the foot"
    MIDDLE = "middle"

    @property
    def words(self) -> str:
        """For users."""
        return tr(self.value)


class BondAt(Enum):
    """The bonded joint that carries most."""

    FOOT = "joint at the foot"
    JOINTS = "vertical joints"
    RIM = "joint of the rim brace"
    NONE = "no bonded joint"

    @property
    def words(self) -> str:
        """For users."""
        return tr(self.value)


class Limit(Enum):
    """What is limited."""

    STRESS = "bending stress"
    DEFLECTION = "bow"
    BOND = "stress of the bonded joints"
    BRACE_BOND = "stress of a cross brace's joint"
    RIM = "bending stress of the rim brace"
    OPENING = "stress at an opening"

    @property
    def words(self) -> str:
        """For users."""
        return tr(self.value)


class TopState(Enum):
    """How the top edge of a wall counted."""

    FREE = "top edge free"
    HELD = "top edge held"
    FRAME_HOLDS = "top edge held by the frame, by the shop's word"
    FRAME_BENDS = "top edge on the frame as an elastic beam"
    FRAME_UNKNOWN = "top edge free: nothing is known of the frame's stiffness"
    STRIP = "top edge on the rim brace as an elastic beam"
    CUT = "top edge free: an opening cuts through it"

    @property
    def words(self) -> str:
        """For users."""
        return tr(self.value)


class Outcome(Enum):
    """What a check says."""

    ENOUGH = "enough"
    NOT_ENOUGH = "not enough"
    NOT_CHECKED = "not checked"

    @property
    def words(self) -> str:
        """For users."""
        return tr(self.value)


class Reason(Enum):
    """Why something was not checked."""

    BEDDED = "a bedded base is not computed"
    REENTRANT = "a base that turns inwards at a corner is not computed"
    OUTSIDE = "it lies outside the part of the panel that was computed"
    BONDED_EDGE = "it cuts through a bonded edge"
    TOO_LARGE = "it is larger than a third of a side"
    SHARP = "its inner corners are sharper than the glass is thick"
    NEAR_EDGE = "it is nearer to an edge than twice the thickness"
    CROWDED = "it is nearer to another opening than twice the thickness"

    @property
    def words(self) -> str:
        """For users."""
        return tr(self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelCheck:
    """A plate under one water level.

    Parameters
    ----------
    level
        [nm]
    stress
        Greatest principal bending stress. [N/mm2]
    stress_at
        Where.
    hogging
        Greatest pull on the water side over a cross brace, 0 without one. [N/mm2]
    deflection
        Greatest bow. [mm]
    deflection_at
        Where.
    bond
        Greatest stress of a bonded edge. [N/mm2]
    bond_at
        Which.
    brace_bond
        Greatest mean stress of a cross brace's bonded end, 0 without one. [N/mm2]
    brace_forces
        Of each cross brace, the larger of both bounds. [N]
    rim_stress
        Bending stress of the rim brace as a beam along the top edge; None without one. [N/mm2]
    stress_use, deflection_use, bond_use, brace_bond_use, rim_use
        Parts of the limits that are used; None where there is no limit.
    """

    level: int
    stress: float
    stress_at: Where
    hogging: float
    deflection: float
    deflection_at: Where
    bond: float
    bond_at: BondAt
    brace_bond: float
    rim_stress: float | None
    brace_forces: tuple[float, ...]
    stress_use: float
    deflection_use: float | None
    bond_use: float | None
    brace_bond_use: float | None
    rim_use: float | None

    @property
    def uses(self) -> tuple[tuple[float, Limit], ...]:
        """Every limit and the part of it that is used."""
        each = (
            (self.stress_use, Limit.STRESS),
            (self.deflection_use, Limit.DEFLECTION),
            (self.bond_use, Limit.BOND),
            (self.brace_bond_use, Limit.BRACE_BOND),
            (self.rim_use, Limit.RIM),
        )
        return tuple((use, limit) for use, limit in each if use is not None)

    @property
    def enough(self) -> bool:
        """Whether no limit is passed."""
        return all(use <= 1 for use, _ in self.uses)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningVerdict:
    """An opening in a plate, water to the brim.

    Parameters
    ----------
    opening
        Which.
    outcome
        Never `ENOUGH` for what was not checked.
    stress
        Stress beside it, raised by the hole factor; None where it was not checked. [N/mm2]
    use
        Part of the design stress that is used.
    reason
        Why it was not checked.
    """

    opening: Opening
    outcome: Outcome
    stress: float | None = None
    use: float | None = None
    reason: Reason | None = None

    @property
    def words(self) -> str:
        """For users."""
        if self.reason is not None:
            return tr("opening not checked: {reason}", reason=self.reason.words)
        if self.outcome is Outcome.ENOUGH:
            return tr("opening: {stress:.1f} N/mm2 beside it, enough", stress=self.stress)
        return tr("opening: {stress:.1f} N/mm2 beside it, too highly stressed", stress=self.stress)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateVerdict:
    """What holds of walls and bases.

    Parameters
    ----------
    least
        Thickness that strength counted. [nm]
    brim, stated
        With water to the brim, which counts, and to the stated level, for information; None where the
        plate was not computed.
    openings
        Each opening.
    """

    least: int
    brim: LevelCheck | None
    stated: LevelCheck | None
    openings: tuple[OpeningVerdict, ...]

    @property
    def outcome(self) -> Outcome:
        """Enough only where plate and openings were all checked."""
        if self.brim is None:
            return Outcome.NOT_CHECKED
        found = {o.outcome for o in self.openings}
        if not self.brim.enough or Outcome.NOT_ENOUGH in found:
            return Outcome.NOT_ENOUGH
        return Outcome.NOT_CHECKED if Outcome.NOT_CHECKED in found else Outcome.ENOUGH

    @property
    def enough(self) -> bool:
        """Whether the outcome is `ENOUGH`."""
        return self.outcome is Outcome.ENOUGH

    @property
    def uses(self) -> tuple[tuple[float, Limit], ...]:
        """Every limit with water to the brim, openings included, and the part of it that is used."""
        if self.brim is None:
            return ()
        return (*self.brim.uses, *((o.use, Limit.OPENING) for o in self.openings if o.use is not None))

    @property
    def glass_enough(self) -> bool:
        """Whether more thickness would mend nothing: all limits but that of a cross brace's joint are kept.

        The joint of a cross brace wants a larger glue face, not a thicker wall.
        """
        return self.brim is not None and all(
            use <= 1 for use, limit in self.uses if limit is not Limit.BRACE_BOND
        )

    @property
    def governs(self) -> tuple[float, Limit] | None:
        """The limit that is used most, openings included, and the part used."""
        return max(self.uses, key=lambda pair: pair[0], default=None)

    @property
    def reason(self) -> str:
        """What governs, in words: ``bending stress 5.6 N/mm2, top centre: 112 % of the limit``."""
        return self._said(self.governs)

    @property
    def glass_reason(self) -> str:
        """As `reason`, of the limits that more thickness mends (see `glass_enough`)."""
        mended = [pair for pair in self.uses if pair[1] is not Limit.BRACE_BOND]
        return self._said(max(mended, key=lambda pair: pair[0], default=None))

    def _said(self, most: tuple[float, Limit] | None) -> str:
        if most is None or self.brim is None:
            return tr("not computed")
        use, limit = most
        brim = self.brim
        if limit is Limit.STRESS:
            what = tr("{stress:.2f} N/mm2, {where}", stress=brim.stress, where=brim.stress_at.words)
        elif limit is Limit.DEFLECTION:
            bow = local_number(f"{brim.deflection:.2f} mm")
            what = tr("{bow}, {where}", bow=bow, where=brim.deflection_at.words)
        elif limit is Limit.BOND:
            what = tr("{stress:.3f} N/mm2, {where}", stress=brim.bond, where=brim.bond_at.words)
        elif limit is Limit.RIM:
            what = tr("{stress:.2f} N/mm2", stress=brim.rim_stress)
        elif limit is Limit.BRACE_BOND:
            what = tr("{stress:.3f} N/mm2", stress=brim.brace_bond)
        else:
            worst = max(o.stress or 0.0 for o in self.openings)
            what = tr("{stress:.2f} N/mm2", stress=worst)
        return tr("{limit} {what}: {use:.0f} % of the limit", limit=limit.words, what=what, use=100 * use)


@dataclass(frozen=True, slots=True, kw_only=True)
class WallVerdict(PlateVerdict):
    """What the check of a wall found.

    Parameters
    ----------
    case
        The wall.
    top
        How its top edge counted.
    without_removable
        Whether it was computed without its removable braces, too.
    """

    case: WallCase
    top: TopState
    without_removable: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseVerdict(PlateVerdict):
    """What the check of a base found.

    Parameters
    ----------
    case
        The base.
    """

    case: BaseCase
