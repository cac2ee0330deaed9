"""What the code on a label or a page says: a plan and one panel, offcut or sheet of it.

Five fields set apart by ``/``, of the letters that a QR code packs two to eleven bits::

    PW1P/Q7K29DMX/1F/M3      panel: its index in the plan, from 1, base 32
    PW1K/Q7K29DMX/12.AB/8C   offcut that is kept: the rest of its number, so that a rack is read without a plan
    PW1K/Q7K29DMX/I2/8C      offcut with a number of another form: its index among those of the plan, base 32
    PW1S/Q7K29DMX/C/0W       sheet: its number, base 32
    PW1A/Q7K29DMX/0/YY       the whole plan

``PW1`` names the form, the next letter what is meant, then the plan without its dash. The last two letters
check all that and, for a panel, its id as well: the index of another plan file is found out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from hashlib import sha256
from typing import Final

from panewright.io.problems import shown
from panewright.nesting.errors import NestingError
from panewright.nesting.panels import Panel
from panewright.nesting.plan import Layout, LeafKind, Plan
from panewright.nesting.plan_id import CROCKFORD
from panewright.nesting.text import tr

FORM: Final = "PW1"
_CODE: Final = re.compile(r"PW1([PKSA])/([0-9A-HJKMNP-TV-Z]{8})/([0-9A-Z.]{1,24})/([0-9A-HJKMNP-TV-Z]{2})")
_NUMBER: Final = re.compile(r"([0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4})\.([0-9]{1,9})\.([a-z]{1,7})")
_WHOLE: Final = re.compile(r"[0-9A-HJKMNP-TV-Z]{1,8}")
_OFFCUT: Final = re.compile(r"([0-9]{1,9})\.([A-Z]{1,7})")


class Named(Enum):
    """What a code names."""

    PANEL = "P"
    OFFCUT = "K"
    SHEET = "S"
    PLAN = "A"


class BadCode(NestingError, ValueError):
    """A text that is no code of ours, or not of this plan.

    Parameters
    ----------
    text
        What was read.
    reason
        What is wrong with it, worded for the user.
    """

    def __init__(self, text: str, reason: str) -> None:
        self.text, self.reason = text, reason
        super().__init__(text, reason)

    def __str__(self) -> str:
        return tr("code {text!r}: {reason}", text=shown(self.text), reason=self.reason)


@dataclass(frozen=True, slots=True)
class PieceCode:
    """A code that was read.

    Parameters
    ----------
    named
        What it names.
    plan
        Id of the plan.
    field
        Index or number, as it stands in the code.
    check
        The two check letters.
    """

    named: Named
    plan: str
    field: str
    check: str

    def __str__(self) -> str:
        return f"{FORM}{self.named.value}/{self.plan.replace('-', '')}/{self.field}/{self.check}"

    @property
    def offcut(self) -> str | None:
        """Number of the offcut where the code says it in full, else None."""
        found = _OFFCUT.fullmatch(self.field) if self.named is Named.OFFCUT else None
        return f"{self.plan}.{found[1]}.{found[2].lower()}" if found else None


def _base32(number: int) -> str:
    text = ""
    while number or not text:
        number, rest = divmod(number, 32)
        text = CROCKFORD[rest] + text
    return text


def _number(text: str) -> int:
    number = 0
    for c in text:
        number = number * 32 + CROCKFORD.index(c)
    return number


def _made(named: Named, plan_id: str, field: str, also: str = "") -> PieceCode:
    return PieceCode(named, plan_id, field, _check(named, plan_id, field, also))


def _check(named: Named, plan_id: str, field: str, also: str) -> str:
    text = f"{FORM}{named.value}/{plan_id}/{field}/{also}"
    first, second, *_ = sha256(text.encode("utf-8", "surrogatepass")).digest()
    return CROCKFORD[first & 31] + CROCKFORD[second & 31]


def panel_code(plan: Plan, index: int) -> PieceCode:
    """The code of the panel at this index of the plan, counted from 0."""
    return _made(Named.PANEL, plan.id, _base32(index + 1), plan.panels[index].id)


def offcut_code(plan: Plan, number: str) -> PieceCode:
    """The code of an offcut of the plan by its number."""
    found = _NUMBER.fullmatch(number)
    if found:
        return _made(Named.OFFCUT, found[1], f"{found[2]}.{found[3].upper()}")
    return _made(Named.OFFCUT, plan.id, f"I{_base32(_offcuts(plan).index(number) + 1)}", number)


def sheet_code(plan: Plan, layout: Layout) -> PieceCode:
    """The code of a sheet of the plan."""
    return _made(Named.SHEET, plan.id, _base32(layout.number))


def plan_code(plan: Plan) -> PieceCode:
    """The code of the whole plan."""
    return _made(Named.PLAN, plan.id, "0")


def _offcuts(plan: Plan) -> list[str]:
    """Numbers of the offcuts of a plan in an order that no order of cuts changes."""
    return sorted(
        leaf.offcut
        for layout in plan.layouts
        for leaf in layout.leaves
        if leaf.kind is LeafKind.OFFCUT and leaf.offcut is not None
    )


def read_code(text: str) -> PieceCode:
    """Read a code; small letters and blanks around it do not matter.

    Raises
    ------
    BadCode
        When it is none, or is misread. The check letters of a panel are compared by `panel_of` alone.

    Examples
    --------
    >>> read_code("PW1S/Q7K29DMX/C/00")
    Traceback (most recent call last):
    ...
    panewright.io.piece_codes.BadCode: code 'PW1S/Q7K29DMX/C/00': it is misread: the check letters do not fit
    """
    found = _CODE.fullmatch(text.strip().upper())
    if found is None:
        raise BadCode(text, tr("it names no piece of a plan"))
    named, plan_id = Named(found[1]), f"{found[2][:4]}-{found[2][4:]}"
    code = PieceCode(named, plan_id, found[3], found[4])
    by_id = named is Named.PANEL or (named is Named.OFFCUT and code.offcut is None)
    if not by_id and code.check != _check(named, plan_id, code.field, ""):
        raise BadCode(text, tr("it is misread: the check letters do not fit"))
    whole = code.field[1:] if by_id and named is Named.OFFCUT else code.field
    if code.offcut is None and (
        not _WHOLE.fullmatch(whole) or (named is Named.OFFCUT and code.field[0] != "I")
    ):
        raise BadCode(text, tr("it names no piece of a plan"))
    return code


def _same_plan(code: PieceCode, plan: Plan, named: Named) -> None:
    if code.named is not named:
        raise BadCode(str(code), tr("it names something else"))
    if code.plan != plan.id:
        raise BadCode(str(code), tr("it belongs to plan {plan}", plan=code.plan))


def panel_of(plan: Plan, code: PieceCode) -> Panel:
    """The panel that a code names.

    Raises
    ------
    BadCode
        When the code names something else, or the plan file holds another panel at that place.
    """
    _same_plan(code, plan, Named.PANEL)
    index = _number(code.field) - 1
    if not 0 <= index < len(plan.panels) or panel_code(plan, index) != code:
        raise BadCode(str(code), tr("it is misread, or the plan file was changed: no such panel there"))
    return plan.panels[index]


def offcut_of(plan: Plan, code: PieceCode) -> str:
    """Number of the offcut that a code names; of any plan where the code says it in full.

    Raises
    ------
    BadCode
        When the code names something else, or the plan has no such offcut.
    """
    if code.named is Named.OFFCUT and code.offcut is not None:
        return code.offcut
    _same_plan(code, plan, Named.OFFCUT)
    numbers = _offcuts(plan)
    index = _number(code.field[1:]) - 1
    if not 0 <= index < len(numbers) or offcut_code(plan, numbers[index]) != code:
        raise BadCode(str(code), tr("it is misread, or the plan file was changed: no such offcut there"))
    return numbers[index]


def sheet_of(plan: Plan, code: PieceCode) -> Layout:
    """The sheet that a code names.

    Raises
    ------
    BadCode
        When the code names something else, or the plan has no such sheet.
    """
    _same_plan(code, plan, Named.SHEET)
    number = _number(code.field)
    for layout in plan.layouts:
        if layout.number == number:
            return layout
    raise BadCode(str(code), tr("the plan has no sheet {number}", number=number))
