"""The order list to fill in: an example row of each kind, as CSV, XLSX, TOML or JSON."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

from panewright.io import palette
from panewright.io.csv_text import csv_text
from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.order_lists import COLUMNS
from panewright.io.scene_model import Polyline, Scene
from panewright.io.workbook_bytes import workbook_bytes
from panewright.nesting.units import mm

DRAWING: Final = "base-outline.dxf"
"""The drawing that one of the rows names; it is written beside the list."""

_OUTLINE: Final = tuple(
    (mm(x), mm(y)) for x, y in ((0, 0), (620, 0), (800, 200), (800, 450), (500, 560), (0, 450))
)

Row = dict[str, str | int]


def _tank(order: str, shape: str, height: int, **more: str | int) -> Row:
    row: Row = {"order": order, "shape": shape}
    row |= {key.replace("_", " "): value for key, value in more.items()}
    row.setdefault("glass", "clear")
    row.setdefault("thickness", "advise")
    if height:
        row["height"] = height
    return row


ROWS: Final[tuple[Row, ...]] = (
    _tank(
        "E-01",
        "rectangle",
        450,
        quantity=2,
        length=900,
        width=450,
        other_glass="front: low-iron",
        rim="rimless",
        wanted="2027-03-26",
        note="front of low-iron glass, thickness by advice",
    ),
    _tank(
        "E-02",
        "rectangle",
        400,
        sizes="inside",
        length=800,
        width=400,
        walls="around base",
        rim="frame",
        joint=2,
        note="inside sizes, walls around the base, framed",
    ),
    _tank(
        "E-03",
        "rectangle",
        0,
        length=1000,
        width=450,
        volume="180 l",
        rim="rimless",
        note="the height follows from the volume",
    ),
    _tank(
        "E-04",
        "rectangle",
        500,
        length=1500,
        width=500,
        rim="braces 100 | cross 2 x 150 lapped",
        covers="lid 3",
        water="sea",
        note="rim braces all round, cross braces under them, three lids",
    ),
    _tank(
        "E-05",
        "rectangle",
        450,
        length=1200,
        width=450,
        rim="removable cross 120",
        covers="sliding 2",
        note="a removable cross brace and sliding covers",
    ),
    _tank(
        "E-06",
        "rectangle",
        500,
        length=1000,
        width=500,
        rim="braces 80",
        inside="overflow back and left 200 x 150 weir 40",
        openings="back: 4 holes 15 pitch 60 at 700 400 | base: hole 45 at 120 400",
        glass="clear-15",
        thickness="",
        note="corner overflow box, drilled returns, a hole in the base",
    ),
    _tank(
        "E-07",
        "rectangle",
        500,
        length=900,
        width=450,
        through="pinwheel",
        rim="braces 80",
        inside="overflow back 250 x 120 weir 40",
        openings="left: slot 120 x 25 at 160 40",
        glass="clear-12",
        thickness="",
        note="overflow box in the middle of the back, a slot; every wall runs through once",
    ),
    _tank(
        "E-08",
        "rectangle",
        400,
        length=1000,
        width=400,
        rim="rimless",
        inside="divider at 300 height 300 | baffle at 450 gap 30 | baffle at 500 height 260",
        note="a sump: divider and baffles",
    ),
    _tank(
        "E-09",
        "corner",
        500,
        length=650,
        width=650,
        side=260,
        rim="rimless",
        note="corner tank: legs and returns",
    ),
    _tank(
        "E-10",
        "octagon",
        450,
        length=600,
        across="flats",
        rim="rimless",
        note="regular octagon across its flats",
    ),
    _tank(
        "E-11",
        "regular",
        400,
        sides=6,
        length=300,
        rim="rimless",
        covers="lid",
        note="regular hexagon by its side",
    ),
    _tank(
        "E-12",
        "long octagon",
        450,
        length=1100,
        width=500,
        corner="180 | 150",
        rim="rimless",
        note="rectangle with its corners cut off",
    ),
    _tank(
        "E-13",
        "long hexagon",
        450,
        length=1200,
        width=450,
        corner=250,
        rim="rimless",
        note="pointed at both ends",
    ),
    _tank(
        "E-14",
        "trapezoid",
        450,
        length=1000,
        front=700,
        width=400,
        rim="rimless",
        note="back longer than the front",
    ),
    _tank(
        "E-15",
        "right trapezoid",
        400,
        length=900,
        front=600,
        width=400,
        hand="right",
        rim="rimless",
        note="square at the right",
    ),
    _tank(
        "E-16",
        "bent front",
        450,
        length=1000,
        width=500,
        front=500,
        side=350,
        rim="rimless",
        note="front in three parts",
    ),
    _tank(
        "E-17",
        "L",
        400,
        length=1100,
        width=600,
        corner="450 | 250",
        rim="rimless",
        note="base and lid are cut as blanks",
    ),
    _tank(
        "E-18",
        "polygon",
        400,
        corners="0 0 | 700 0 | 800 250 | 500 500 | 0 400",
        rim="rimless",
        note="any convex outline, the front first",
    ),
    _tank("E-19", "drawing", 400, drawing=DRAWING, rim="rimless", note="outline of the base from a drawing"),
    {
        "order": "E-20",
        "panel": "cover",
        "quantity": 2,
        "width": 420,
        "height": 310,
        "glass": "clear-6",
        "edges": "polished",
        "due": "2027-03-12",
        "rack": "furnace 7",
        "slot": 1,
        "tolerates": "seed edge 15; rub anywhere",
        "note": "single panels, in slots 1 and 2 of a furnace batch; seeds near the edge are taken",
    },
)


def template_files(path: Path) -> dict[Path, bytes] | None:
    """The list and the drawing that it names; None where the ending is not known."""
    names = [column.name for column in COLUMNS if any(column.name in row for row in ROWS)]
    makers = {".csv": _csv, ".xlsx": _xlsx, ".toml": _toml, ".json": _json}
    make = makers.get(path.suffix.lower())
    if make is None:
        return None
    outline = Scene("base", mm(8), (Polyline(palette.PANEL_FINISHED, _OUTLINE),))
    return {path: make(names), path.parent / DRAWING: dxf_bytes(outline, "mm")}


def _csv(names: list[str]) -> bytes:
    return csv_text(names, [[row.get(name) for name in names] for row in ROWS]).encode("utf-8")


def _xlsx(names: list[str]) -> bytes:
    return workbook_bytes("orders", names, [[row.get(name) for name in names] for row in ROWS], "B2")


def _toml(names: list[str]) -> bytes:
    parts = []
    for row in ROWS:
        lines = ["[[orders]]"]
        for name in names:
            if name in row and row[name] != "":
                key = name if name.isalnum() else json.dumps(name)
                lines.append(f"{key} = {json.dumps(row[name], ensure_ascii=False)}")
        parts.append("\n".join(lines))
    return ("\n\n".join(parts) + "\n").encode("utf-8")


def _json(names: list[str]) -> bytes:
    rows = [{name: row[name] for name in names if row.get(name, "") != ""} for row in ROWS]
    return (json.dumps({"orders": rows}, indent=1, ensure_ascii=False) + "\n").encode("utf-8")
