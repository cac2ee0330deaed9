"""Writes samples/history.csv: two years of the invented shop, drawn with a fixed seed.

Run it to write the file anew: python tests/make_history_sample.py
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from random import Random

SEED = 2027
MONDAY = date(2027, 3, 8)
"""The Monday of the sample week, whose orders stand in lists of their own."""
WEEKS = 104
AHEAD = 6
"""Weeks after the sample week for which some orders are booked already."""
SHUT = (date(2025, 12, 22), date(2026, 12, 21))
COLUMNS = [
    "order",
    "panel",
    "quantity",
    "shape",
    "length",
    "width",
    "height",
    "side",
    "across",
    "glass",
    "edges",
    "rim",
    "covers",
    "booked",
    "due",
    "cut",
    "cancelled",
    "remake",
]

Row = dict[str, str | int]


def _rectangle(rng: Random, glass: str, sizes: list[tuple[int, int, int]], rims: list[str]) -> Row:
    length, width, height = rng.choice(sizes)
    length += 10 * rng.randrange(-8, 9)
    return {
        "shape": "rectangle",
        "length": length,
        "width": width,
        "height": height,
        "glass": glass,
        "rim": rng.choice(rims),
    }


def _small(rng: Random) -> Row:
    sizes = [(450, 300, 300), (600, 350, 350), (600, 400, 340), (500, 350, 300)]
    row = _rectangle(rng, "clear-6", sizes, ["rimless"])
    return row | {"quantity": rng.choice([1, 1, 2, 2, 3, 4, 6])}


def _braced(rng: Random) -> Row:
    sizes = [(900, 450, 450), (1000, 450, 450), (1200, 450, 450), (1000, 500, 430)]
    row = _rectangle(rng, "clear-10", sizes, ["braces 80", "rimless"])
    return row | {"quantity": rng.choice([1, 1, 1, 2]), "covers": rng.choice(["", "", "sliding 2"])}


def _large(rng: Random) -> Row:
    sizes = [(1200, 500, 450), (1400, 500, 500), (1500, 550, 500), (1300, 500, 450)]
    row = _rectangle(rng, "clear-12", sizes, ["braces 100", "braces 100 | cross 120"])
    return row | {"covers": rng.choice(["", "lid 2"])}


def _show(rng: Random) -> Row:
    return _rectangle(rng, "low-iron-12", [(900, 450, 450), (1000, 500, 450), (1200, 500, 450)], ["rimless"])


def _shaped(rng: Random) -> Row:
    if rng.random() < 0.5:
        side = rng.choice([560, 600, 650])
        legs: Row = {"shape": "corner", "length": side, "width": side, "side": side - 350, "height": 480}
        return legs | {"glass": "clear-10", "rim": "rimless"}
    across: Row = {
        "shape": "octagon",
        "length": rng.choice([560, 600, 640]),
        "across": "flats",
        "height": 450,
    }
    return across | {"glass": "clear-10", "rim": "rimless"}


def _single(rng: Random) -> Row:
    name, width, height = rng.choice([("spare cover", 420, 310), ("shelf", 560, 180), ("divider", 440, 400)])
    row: Row = {"panel": name, "width": width + 10 * rng.randrange(-6, 7), "height": height}
    return row | {"glass": "clear-6", "edges": "polished", "quantity": rng.choice([1, 2, 2, 4])}


def _remake(rng: Random) -> Row:
    width = rng.choice([900, 1000, 1200])
    row: Row = {"panel": rng.choice(["front", "back"]), "width": width, "height": 450, "quantity": 1}
    return row | {"glass": rng.choice(["clear-10", "clear-12"]), "edges": "ground", "remake": "yes"}


KINDS = (
    # orders a week, days from booking to due (mean), what is ordered
    (2.6, 12, _small),
    (2.4, 18, _braced),
    (1.5, 24, _large),
    (0.8, 30, _show),
    (0.9, 20, _shaped),
    (2.3, 8, _single),
    (0.35, 2, _remake),
)


def _count(rng: Random, mean: float) -> int:
    """A Poisson count about a level that itself wavers a little."""
    level = mean * rng.gammavariate(8, 1 / 8)
    count, left = 0, rng.expovariate(1)
    while left < level:
        count, left = count + 1, left + rng.expovariate(1)
    return count


def rows() -> Iterator[Row]:
    """The rows in the order of their due days."""
    rng = Random(SEED)
    number = 1500
    for week in range(-WEEKS, AHEAD + 1):
        monday = MONDAY + timedelta(weeks=week)
        season = 1 + 0.2 * math.sin(2 * math.pi * (monday.timetuple().tm_yday + 60) / 365)
        for mean, ahead, make in KINDS:
            for _ in range(_count(rng, mean * season)):
                due = monday + timedelta(days=rng.randrange(5))
                booked = due - timedelta(days=1 + int(rng.gammavariate(2, ahead / 2)))
                late = rng.choices([0, 1, 2, 3, -1], [80, 7, 3, 2, 8])[0]
                gone = rng.random() < 0.02
                row = make(rng)
                booked -= timedelta(days=max(0, booked.weekday() - 4))
                if monday in SHUT or week == 0:
                    # the orders of the sample week stand in lists of their own
                    continue
                cut = due + timedelta(days=late)
                if cut.weekday() > 4 or booked > cut or cut - timedelta(days=cut.weekday()) in SHUT:
                    cut = due
                if cut >= MONDAY and booked >= MONDAY:
                    continue
                number += 1
                row |= {"order": f"H-{number}", "booked": booked.isoformat(), "due": due.isoformat()}
                if gone:
                    row["cancelled"] = (booked + (due - booked) // 2).isoformat()
                elif cut < MONDAY:
                    row["cut"] = cut.isoformat()
                yield row


def text() -> str:
    """The file."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows())
    return out.getvalue()


if __name__ == "__main__":
    path = Path(__file__).parent.parent / "samples" / "history.csv"
    path.write_text(text(), encoding="utf-8", newline="\n")
