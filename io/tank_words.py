"""The words of a tank order: what stands in the cells for rim, covers, inside, openings and volume."""

from __future__ import annotations

import re
from typing import Final

from panewright.io.lengths import BadValue, DecimalSign, parse_decimal, parse_length
from panewright.nesting.shop_tanks import TankHabits
from panewright.nesting.tanks.tank import (
    Cover,
    CrossBraces,
    Divider,
    Inside,
    OpeningKind,
    OpeningWish,
    OverflowBox,
    RimBraces,
    Top,
)
from panewright.nesting.text import tr
from panewright.nesting.units import NM3_PER_GALLON, NM3_PER_LITRE, LengthUnit, mm, show

MOST_ITEMS: Final = 40
"""In one cell."""
MOST_COUNT: Final = 60
GREATEST: Final = mm(12_000)

_LENGTH = r"\S+(?: [0-9]+/[0-9]+(?:\"|''|in)?)?(?: (?:mm|cm|m|in|inch))?"
"""A length, with a fraction behind a blank as in 1 1/2."""
_L = rf"({_LENGTH})"
_N = r"([0-9]{1,3})"

_RIM: Final = re.compile(rf"(?:rim )?braces?(?: (?!on ){_L})?(?: on (.+))?")
_CROSS: Final = re.compile(rf"(removable )?cross(?: braces?)?(?: (?:{_N} ?[x×] ?)?(?!lapped){_L})?( lapped)?")
_LID: Final = re.compile(rf"lids?(?: {_N})?")
_SLIDING: Final = re.compile(rf"sliding(?: covers?)?(?: {_N})?(?: overlap {_L})?")
_DIVIDER: Final = re.compile(rf"divider at {_L}(?: height {_L})?")
_BAFFLE: Final = re.compile(rf"baffle at {_L}(?: gap {_L})?(?: height {_L})?")
_BOX: Final = re.compile(rf"overflow (.+?)(?: and (.+?))? {_L} ?[x×] ?{_L} weir {_L}(?: at {_L})?")
_ROW = r"(?:(?P<count>[0-9]{1,3}) )?"
_SIZE = rf"(?P<width>{_LENGTH}) ?[x×] ?(?P<height>{_LENGTH})"
_AT = rf"(?: pitch (?P<pitch>{_LENGTH}))? at (?P<x>{_LENGTH})"
_Y = rf" (?P<y>{_LENGTH})"
_RADIUS = rf"(?: r (?P<radius>{_LENGTH}))?"
_OPENINGS: Final = {
    OpeningKind.HOLE: re.compile(rf"{_ROW}holes? (?P<width>{_LENGTH}){_AT}{_Y}"),
    OpeningKind.SLOT: re.compile(rf"{_ROW}slots? {_SIZE}{_AT}{_Y}{_RADIUS}"),
    OpeningKind.NOTCH: re.compile(rf"{_ROW}notch(?:es)? {_SIZE}{_AT}{_RADIUS}"),
}


class Words:
    """Reads the cells of one row.

    Parameters
    ----------
    unit, decimal
        Unit of bare numbers and decimal sign.
    habits
        What counts where a size is left out.
    """

    def __init__(self, unit: LengthUnit, decimal: DecimalSign, habits: TankHabits) -> None:
        self.unit, self.decimal, self.habits = unit, decimal, habits

    def _length(self, text: str, least: int = 1) -> int:
        length = parse_length(text, self.unit, self.decimal)
        if not least <= length <= GREATEST:
            raise BadValue(
                tr("{size} is out of range", size=show(length)),
                tr("give a length from {low} to {high}", low=show(least), high=show(GREATEST)),
            )
        return length

    def _count(self, text: str | None) -> int:
        count = int(text or 1)
        if not 1 <= count <= MOST_COUNT:
            raise BadValue(
                tr("{count} is no number from 1 to {most}", count=count, most=MOST_COUNT), tr("correct it")
            )
        return count

    def top(self, rim: str) -> Top:
        """What the cell ``rim`` says.

        Raises
        ------
        BadValue
            Where they cannot be read.
        """
        framed, braces, cross = False, None, []
        items = _items(rim)
        for item in items:
            if item in ("rimless", "none"):
                if len(items) > 1:
                    raise BadValue(tr("a rimless tank has no braces or frame"), tr("delete one of them"))
            elif item in ("frame", "framed"):
                framed = True
            elif found := _CROSS.fullmatch(item):
                width = self._length(found[3]) if found[3] else self.habits.cross_width
                count = self._count(found[2])
                cross.append(
                    CrossBraces(count=count, width=width, removable=bool(found[1]), lapped=bool(found[4]))
                )
            elif found := _RIM.fullmatch(item):
                if braces is not None:
                    raise BadValue(tr("rim braces stand there twice"), tr("give one width for all of them"))
                width = self._length(found[1]) if found[1] else self.habits.brace_width
                walls = tuple(w.strip() for w in re.split(r",| and ", found[2] or "") if w.strip())
                braces = RimBraces(width=width, walls=walls)
            else:
                raise BadValue(
                    tr("{item} is no way to end a tank at the top", item=item),
                    tr(
                        "write rimless, frame, braces 80, cross 2 x 120, cross 120 lapped or removable cross 120, set apart by |"
                    ),
                )
        return Top(framed=framed, rim=braces, cross=tuple(cross))

    def covers(self, text: str) -> tuple[Cover, ...]:
        """What the cell ``covers`` says.

        Raises
        ------
        BadValue
            Where it cannot be read.
        """
        out = []
        for item in _items(text):
            if found := _LID.fullmatch(item):
                out.append(Cover(count=self._count(found[1])))
            elif found := _SLIDING.fullmatch(item):
                count = self._count(found[1] or "2")
                overlap = self._length(found[2]) if found[2] else Cover(count=1).overlap
                out.append(Cover(count=count, sliding=True, overlap=overlap))
            elif item != "none":
                raise BadValue(
                    tr("{item} is no cover", item=item),
                    tr("write lid 2 or sliding 2, or leave the cell empty"),
                )
        return tuple(out)

    def insides(self, text: str) -> tuple[Inside, ...]:
        """What the cell ``inside`` says.

        Raises
        ------
        BadValue
            Where it cannot be read.
        """
        return tuple(self._inside(item) for item in _items(text))

    def _inside(self, item: str) -> Inside:
        if found := _DIVIDER.fullmatch(item):
            return Divider(at=self._length(found[1]), height=self._maybe(found[2]))
        if found := _BAFFLE.fullmatch(item):
            if not found[2] and not found[3]:
                raise BadValue(
                    tr("a baffle has a gap below it or a height of its own"),
                    tr("write it as in baffle at 400 gap 25, or baffle at 450 height 200"),
                )
            return Divider(
                at=self._length(found[1]),
                gap=self._maybe(found[2]) or 0,
                height=self._maybe(found[3]),
                baffle=True,
            )
        if found := _BOX.fullmatch(item):
            return OverflowBox(
                walls=tuple(w for w in (found[1], found[2]) if w),
                along=self._length(found[3]),
                deep=self._length(found[4]),
                weir=self._length(found[5], 0),
                at=self._maybe(found[6]),
            )
        raise BadValue(
            tr("{item} is not known", item=item),
            tr(
                "write divider at 400, baffle at 450 gap 25 height 300, overflow back and left 200 x 150 weir 40"
                " or overflow back 300 x 120 weir 40, set apart by |"
            ),
        )

    def _maybe(self, text: str | None) -> int | None:
        return self._length(text) if text else None

    def openings(self, text: str) -> tuple[OpeningWish, ...]:
        """What the cell ``openings`` of a tank says.

        Raises
        ------
        BadValue
            Where it cannot be read.
        """
        out: list[OpeningWish] = []
        for item in _items(text):
            panel, colon, words = (part.strip() for part in item.partition(":"))
            wish = self._opening(panel, words) if colon and panel else None
            if wish is None:
                raise BadValue(
                    tr("{item} is no opening", item=item),
                    tr(
                        "write it as in back: hole 35 at 100 60, back: 5 holes 12 pitch 30 at 300 50,"
                        " back: slot 200 x 20 at 300 40, back: notch 150 x 40 at 300 or base: hole 45 at 200 150"
                    ),
                )
            out.append(wish)
        return tuple(out)

    def _opening(self, panel: str, words: str) -> OpeningWish | None:
        matches = ((kind, pattern.fullmatch(words)) for kind, pattern in _OPENINGS.items())
        found = next(((kind, match) for kind, match in matches if match), None)
        if found is None:
            return None
        kind, part = found[0], found[1].groupdict()
        width = self._length(part["width"])
        wish = OpeningWish(
            panel=panel,
            kind=kind,
            x=self._length(part["x"], 0),
            y=self._length(part["y"], 0) if "y" in part else 0,
            width=width,
            height=self._length(part["height"]) if "height" in part else width,
            count=self._count(part["count"]),
            pitch=self._maybe(part["pitch"]) or 0,
            radius=self._maybe(part.get("radius")),
        )
        if wish.count > 1 and not wish.pitch:
            raise BadValue(
                tr("a row of openings needs the distance from middle to middle"),
                tr("write it as in 5 holes 12 pitch 30 at 300 50"),
            )
        if wish.radius is not None and 2 * wish.radius > min(wish.width, wish.height):
            raise BadValue(tr("the radius is larger than half the opening"), tr("make it smaller"))
        return wish

    def volume(self, text: str) -> int:
        """A volume such as ``300``, ``300 l`` or ``80 gal``. [nm3]

        Raises
        ------
        BadValue
            When it is none.
        """
        found = re.fullmatch(r"([0-9.,]+)\s*(l|litres?|liters?|gal|gallons?)?", text.strip().lower())
        if not found:
            raise BadValue(tr("this is no volume"), tr("write it as in 300 l or 80 gal (US gallons)"))
        gallons = (found[2] or "").startswith("gal")
        number = parse_decimal(found[1], self.decimal, points_are_decimal=True)
        volume = number * (NM3_PER_GALLON if gallons else NM3_PER_LITRE)
        if not NM3_PER_LITRE <= volume <= 30_000 * NM3_PER_LITRE:
            raise BadValue(tr("the volume is not within 1 to 30,000 litres"), tr("correct it"))
        return int(volume)

    def pair(self, text: str) -> tuple[int, int]:
        """One length for both, or two set apart by ``|``.

        Raises
        ------
        BadValue
            When it is neither.
        """
        parts = [self._length(part) for part in _items(text)]
        if len(parts) not in (1, 2):
            raise BadValue(tr("these are not one length or two"), tr("write it as in 200 or 200 | 150"))
        return parts[0], parts[-1]


def _items(text: str) -> list[str]:
    items = [" ".join(item.lower().split()) for item in text.split("|")]
    items = [item for item in items if item]
    if len(items) > MOST_ITEMS:
        raise BadValue(
            tr("the cell lists more than {most} things", most=MOST_ITEMS), tr("order them in several rows")
        )
    return items


def named(text: str) -> list[tuple[str, str]]:
    """``front: low-iron | base: clear-12`` as pairs.

    Raises
    ------
    BadValue
        Where a colon is missing.
    """
    out = []
    for item in _items(text):
        name, colon, value = (part.strip() for part in item.partition(":"))
        if not colon or not name or not value:
            raise BadValue(
                tr("{item} names no panel and its glass", item=item),
                tr("write it as in front: low-iron | base: clear-12"),
            )
        out.append((name, value))
    return out
