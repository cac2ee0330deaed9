"""What was done of a plan as a short code, to be typed, read out or scanned: sheets cut, panels broken, offcuts.

A code is Crockford's base 32 in groups of four: the plan id, the state in bits, a checksum over all of it.
It tells a state, not single events; the file of `record_file` tells more. The page for the table writes the
same code by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Final, NoReturn

from panewright.io.file_names import is_plan_id
from panewright.io.problems import shown
from panewright.nesting.errors import NestingError
from panewright.nesting.happened import AtStep
from panewright.nesting.plan import LeafKind, Plan
from panewright.nesting.plan_id import CROCKFORD
from panewright.nesting.text import tr

VERSION: Final = 1
EPOCH: Final = datetime(2020, 1, 1, tzinfo=UTC)
TIME_BITS: Final = 25
"""Minutes since `EPOCH`: enough until 2083."""
PLAN_LETTERS: Final = 8
CHECK_LETTERS: Final = 6
GROUP: Final = 4
MOST_LETTERS: Final = 20_000

_GENERATOR: Final = (0x3B6A57B2, 0x26508E6D, 0x1EA119FA, 0x3D4233DD, 0x2A1462B3)
_FINAL: Final = 0x2BC830A3
# what Crockford's alphabet lets people write for a letter, and what they put between groups
_READ_AS: Final = {**{c: i for i, c in enumerate(CROCKFORD)}, "O": 0, "I": 1, "L": 1}
_BETWEEN: Final = frozenset(" -_.\t\r\n\u00a0\u2010\u2011\u2012\u2013\u2014")


class RecordCodeError(NestingError, ValueError):
    """A text that is no code of the plan; the message is worded for the user."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What was done of a plan by a certain time.

    Parameters
    ----------
    sheets
        Numbers of the sheets that are cut.
    broken
        Panel id -> at which work it broke.
    offcuts
        Number of the offcut -> whether it was kept; thrown away if not.
    at
        Time of the last of it, or None; a code holds whole minutes.
    """

    sheets: frozenset[int] = frozenset()
    broken: Mapping[str, AtStep] = field(default_factory=dict)
    offcuts: Mapping[str, bool] = field(default_factory=dict)
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Subjects:
    """What a code of a plan speaks of, in the order of its bits."""

    sheets: tuple[int, ...]
    panels: tuple[str, ...]
    offcuts: tuple[str, ...]


def subjects_of(plan: Plan) -> Subjects:
    """Sheets by number, panels on them and offcuts by the code points of their names."""
    leaves = [leaf for layout in plan.layouts for leaf in layout.leaves]
    return Subjects(
        tuple(sorted(layout.number for layout in plan.layouts)),
        tuple(sorted({leaf.panel for leaf in leaves if leaf.panel is not None})),
        tuple(sorted({x.offcut for x in leaves if x.kind is LeafKind.OFFCUT and x.offcut is not None})),
    )


def encode(plan: Plan, done: Done) -> str:
    """The code of what was done, in groups of four letters.

    Raises
    ------
    KeyError
        `done` names a sheet, panel or offcut that the plan does not have.
    """
    known = subjects_of(plan)
    bits = _Bits()
    bits.put(VERSION, 5)
    minutes = 0 if done.at is None else (done.at - EPOCH) // timedelta(minutes=1)
    bits.put(min(max(minutes, 0), (1 << TIME_BITS) - 1), TIME_BITS)
    cut = _indexes(known.sheets, done.sheets)
    for k, run in enumerate(_runs([i in cut for i in range(len(known.sheets))])):
        bits.gamma(run + (k == 0))
    steps = {name: k for k, name in enumerate(AtStep)}
    broken = sorted(_indexes(known.panels, done.broken))
    bits.gamma(len(broken) + 1)
    last = -1
    for i in broken:
        bits.gamma(i - last)
        bits.put(steps[done.broken[known.panels[i]]], 3)
        last = i
    _indexes(known.offcuts, done.offcuts)
    for number in known.offcuts:
        kept = done.offcuts.get(number)
        bits.put(*((0, 1) if kept is None else (2, 2) if kept else (3, 2)))
    values = [_READ_AS[c] for c in plan.id.replace("-", "")] + bits.letters()
    return grouped("".join(CROCKFORD[v] for v in values + _check(values)))


def grouped(letters: str) -> str:
    """Letters in groups: ``Q7K2-9DMX-1...``."""
    return "-".join(letters[i : i + GROUP] for i in range(0, len(letters), GROUP))


def plan_of_code(text: str) -> str:
    """Id of the plan that a code speaks of.

    Raises
    ------
    RecordCodeError
        No code, or mistyped.
    """
    return _plan_letters(_values(text))


def decode(plan: Plan, text: str) -> Done:
    """What a code says was done of this plan.

    Parameters
    ----------
    plan
        The plan of the id that `plan_of_code` gives.
    text
        As typed or scanned: small letters, blanks, other dashes, O for 0, I or L for 1 are understood.

    Raises
    ------
    RecordCodeError
        No code, mistyped, of another plan, or of a version that is not known.
    """
    values = _values(text)
    if (of := _plan_letters(values)) != plan.id:
        raise RecordCodeError(
            tr("the code is of plan {other}, not of {plan}", other=of, plan=shown(plan.id, 20))
        )
    known = subjects_of(plan)
    reader = _Reader(values[PLAN_LETTERS:-CHECK_LETTERS])
    version = reader.take(5)
    if version != VERSION:
        raise RecordCodeError(
            tr("the code is of version {version}; read it with a newer program", version=version)
        )
    minutes = reader.take(TIME_BITS)
    cut: set[int] = set()
    at = k = 0
    while k == 0 or at < len(known.sheets):
        run = reader.gamma() - (k == 0)
        if k % 2:
            cut.update(known.sheets[at : at + run])
        at, k = at + run, k + 1
    if at > len(known.sheets):
        _spoilt()
    broken: dict[str, AtStep] = {}
    index, steps = -1, tuple(AtStep)
    for _ in range(reader.gamma() - 1):
        index += reader.gamma()
        step = reader.take(3)
        if index >= len(known.panels) or step >= len(steps):
            _spoilt()
        broken[known.panels[index]] = steps[step]
    offcuts = {number: bool(1 - reader.take(1)) for number in known.offcuts if reader.take(1)}
    done = Done(
        sheets=frozenset(cut),
        broken=broken,
        offcuts=offcuts,
        at=EPOCH + timedelta(minutes=minutes) if minutes else None,
    )
    if encode(plan, done) != grouped("".join(CROCKFORD[v] for v in values)):
        _spoilt()
    return done


def _spoilt() -> NoReturn:
    raise RecordCodeError(tr("the code does not fit the plan; take it from the page again"))


def _indexes(known: Sequence[object], wanted: Iterable[object]) -> set[int]:
    at = {name: i for i, name in enumerate(known)}
    return {at[name] for name in wanted}


def _runs(flags: Sequence[bool]) -> list[int]:
    """Lengths of the runs of equal flags; the first one is of False, and may be empty."""
    runs, last = [0], False
    for flag in flags:
        if flag is not last:
            runs.append(0)
            last = flag
        runs[-1] += 1
    return runs


def _values(text: str) -> list[int]:
    if len(text) > MOST_LETTERS:
        raise RecordCodeError(tr("longer than {most} characters", most=MOST_LETTERS))
    values = []
    for c in text:
        if c in _BETWEEN:
            continue
        value = _READ_AS.get(c.upper())
        if value is None:
            raise RecordCodeError(tr("{letter} is no letter of a code", letter=shown(c)))
        values.append(value)
    if len(values) <= PLAN_LETTERS + CHECK_LETTERS:
        raise RecordCodeError(tr("the code is too short; a part of it is missing"))
    if _check(values[:-CHECK_LETTERS]) != values[-CHECK_LETTERS:]:
        raise RecordCodeError(tr("a letter of the code is wrong or missing; compare it with the page"))
    return values


def _plan_letters(values: Sequence[int]) -> str:
    plan = grouped("".join(CROCKFORD[v] for v in values[:PLAN_LETTERS]))
    assert is_plan_id(plan)
    return plan


def _check(values: Sequence[int]) -> list[int]:
    """Six letters of a BCH code over GF(32) (generator of BIP 173, final constant of BIP 350).

    It finds every three wrong letters in a code of up to 1,023, four up to 89, and all but one in 2^30 others.
    """
    state = 1
    for value in (*values, *[0] * CHECK_LETTERS):
        top = state >> 25
        state = (state & 0x1FFFFFF) << 5 ^ value
        for i, row in enumerate(_GENERATOR):
            if top >> i & 1:
                state ^= row
    state ^= _FINAL
    return [state >> 5 * (CHECK_LETTERS - 1 - i) & 31 for i in range(CHECK_LETTERS)]


class _Bits:
    """Collects bits, the highest of a number first."""

    def __init__(self) -> None:
        self.text: list[str] = []

    def put(self, value: int, width: int) -> None:
        self.text.append(f"{value:0{width}b}")

    def gamma(self, value: int) -> None:
        """Elias gamma (P. Elias, Universal codeword sets, 1975); from 1 on."""
        digits = f"{value:b}"
        self.text.append("0" * (len(digits) - 1) + digits)

    def letters(self) -> list[int]:
        """Five bits a letter, filled up with zeros."""
        bits = "".join(self.text)
        bits += "0" * (-len(bits) % 5)
        return [int(bits[i : i + 5], 2) for i in range(0, len(bits), 5)]


class _Reader:
    """Takes bits out again."""

    def __init__(self, letters: Sequence[int]) -> None:
        self.bits = "".join(f"{v:05b}" for v in letters)
        self.at = 0

    def take(self, width: int) -> int:
        end = self.at + width
        if end > len(self.bits):
            _spoilt()
        value = int(self.bits[self.at : end], 2)
        self.at = end
        return value

    def gamma(self) -> int:
        zeros = 0
        while not self.take(1):
            zeros += 1
            if zeros > 20:
                _spoilt()
        return 1 << zeros | (self.take(zeros) if zeros else 0)
