"""Pictures of reports, read back as a reader would: heights against the printed scale, never against our own geometry."""

from __future__ import annotations

import re
from fractions import Fraction
from io import BytesIO
from itertools import combinations, pairwise
from math import inf, nan
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io.pdf_page import document
from panewright.io.pdf_text import width
from panewright.io.report.axes import axis
from panewright.io.report.chart import DARK, LIGHT, Chart, Words, look_of
from panewright.io.report.chart_pdf import draw_chart
from panewright.io.report.chart_svg import svg_element
from panewright.io.report.draw_fan import curve_look
from panewright.io.report.model import Band, Bars, Cloud, Curve, Fan, Picture
from panewright.io.report.picture_words import picture_words
from panewright.io.report.pictures import chart_of, is_empty
from panewright.nesting.units import mm

SIZES = ((920.0, 350.0, 13.0), (350.0, 300.0, 12.0), (510.0, 176.0, 7.8))
WEEKS = tuple(f"2027-W{n}" for n in range(10, 18))
MEDIAN = (9.0, 9.5, 10.25, 11.0, 11.5, 11.75, 12.0, 14.0)
FAN = Fan(
    title="needs",
    places=WEEKS,
    up="sheets",
    bands=(
        Band(name="80 of 100", low=tuple(m - 2 for m in MEDIAN), high=tuple(m + 3 for m in MEDIAN)),
        Band(name="95 of 100", low=tuple(m - 4 for m in MEDIAN), high=tuple(m + 6 for m in MEDIAN)),
    ),
    curves=(
        Curve(name="median", values=MEDIAN),
        Curve(name="open orders", values=(5.0, 4.0, None, 2.0, None, None, 1.0, 1.0), dashed=True),
        Curve(name="last year", values=tuple(m + 1 for m in MEDIAN)),
    ),
    levels=(("reorder point", 7.0), ("storage limit", 18.0)),
)


class Read:
    """An SVG read without the code that drew it: the printed numbers and their places give the scale."""

    def __init__(self, picture: Picture) -> None:
        text = svg_element(chart_of(picture, *SIZES[0]), kind="wide", label=picture_words(picture))
        self.root = ElementTree.fromstring(text)
        self.texts = [
            (float(t.get("x", "")), float(t.get("y", "")), t.get("text-anchor", "start"), t.text or "")
            for t in self.root.iter("text")
        ]
        self.grid = [self.points(p) for p in self.root.iter("path") if p.get("class") == "line s-grid"]

    @staticmethod
    def points(path: ElementTree.Element) -> list[tuple[float, float]]:
        numbers = [float(n) for n in re.findall(r"-?[\d.]+", path.get("d", ""))]
        return list(zip(numbers[::2], numbers[1::2], strict=True))

    def shapes(self, kind: str) -> list[list[tuple[float, float]]]:
        return [self.points(p) for p in self.root.iter("path") if kind in (p.get("class") or "").split()]

    def value(self, y: float) -> float:
        """What the scale at the left says of a height."""
        lines = {row[0][1] for row in self.grid if row[0][1] == row[1][1]}
        labels = [
            (min(lines, key=lambda line: abs(line - ty)), float(text.replace(",", "")))
            for _, ty, anchor, text in self.texts
            if anchor == "end" and re.fullmatch(r"-?[\d.,]+", text)
        ]
        (y0, v0), (y1, v1) = min(labels), max(labels)
        return v0 + (y - y0) * (v1 - v0) / (y1 - y0)

    def across(self, x: float) -> float:
        """What the scale below says of a place."""
        lines = {row[0][0] for row in self.grid if row[0][0] == row[1][0]}
        labels = [
            (min(lines, key=lambda line: abs(line - tx)), float(text.replace(",", "")))
            for tx, _, anchor, text in self.texts
            if anchor == "middle" and re.fullmatch(r"-?[\d.,]+", text)
        ]
        (x0, v0), (x1, v1) = min(labels), max(labels)
        return v0 + (x - x0) * (v1 - v0) / (x1 - x0)


def near(wanted: float, within: float = 0.02) -> Any:
    return pytest.approx(wanted, abs=within)


# ------------------------------------------------------------ fans


def test_curves_bands_and_levels_stand_at_their_values() -> None:
    read = Read(FAN)
    median = next(p for p in read.shapes("s-line1") if len(p) == len(WEEKS))
    assert [read.value(y) for _, y in median] == [near(m) for m in MEDIAN]
    # each point stands above the name of its week
    names = {text: x for x, _, _, text in read.texts}
    assert [x for x, _ in median] == [near(names[week]) for week in WEEKS]
    (wide,), (narrow,) = [[s for s in read.shapes(k) if len(s) == 16] for k in ("f-band1", "f-band2")]
    for shape, below, above in ((wide, 4, 6), (narrow, 2, 3)):
        assert [read.value(y) for _, y in shape[:8]] == [near(m + above) for m in MEDIAN]
        assert [read.value(y) for _, y in shape[:7:-1]] == [near(m - below) for m in MEDIAN]
    levels = [read.value(row[0][1]) for k in ("s-level1", "s-level2") for row in read.shapes(k)[1:]]
    assert levels == [near(7.0), near(18.0)]
    assert {"reorder point: 7", "storage limit: 18"} <= set(names)


def test_a_gap_breaks_a_curve_and_a_value_alone_is_seen() -> None:
    rows = Read(FAN).shapes("s-line3")[1:]
    read = Read(FAN)
    found = [[round(read.value(y), 1) for _, y in row] for row in rows]
    assert found == [[5.0, 4.0], [2.0, 2.0], [1.0, 1.0]]


def test_stairs_hold_their_value_over_the_whole_place() -> None:
    values = (3.0, 4.0, 0.0, None, 5.0)
    fan = Fan(
        title="t", places=WEEKS[:5], up="sheets", curves=(Curve(name="stock", values=values, steps=True),)
    )
    read = Read(fan)
    first, second = read.shapes("s-line1")[1:]
    assert [read.value(y) for _, y in first] == [near(v) for v in (3, 3, 4, 4, 0, 0)]
    assert [read.value(y) for _, y in second] == [near(5)] * 2
    slot = (first[1][0] - first[0][0], second[1][0] - second[0][0])
    assert slot[0] == near(slot[1]) and slot[0] > 100
    # whole values have a whole scale
    assert [t for _, _, anchor, t in read.texts if anchor == "end"] == ["0", "1", "2", "3", "4", "5"]


def test_one_place_is_drawn() -> None:
    fan = Fan(
        title="t",
        places=("W10",),
        up="sheets",
        bands=(Band(name="b", low=(2.0,), high=(6.0,)),),
        curves=(Curve(name="median", values=(4.0,)),),
    )
    read = Read(fan)
    shape = read.shapes("f-band2")[-1]
    assert sorted({round(read.value(y), 2) for _, y in shape}) == [2.0, 6.0]
    assert max(x for x, _ in shape) - min(x for x, _ in shape) > 10
    assert read.value(read.shapes("s-line1")[-1][0][1]) == near(4.0)


# ------------------------------------------------------------ bars and clouds


def test_bars_begin_at_zero_and_end_at_their_values() -> None:
    bars = Bars(
        title="t",
        places=("clear-6", "clear-10", "low-iron-12"),
        up="sheets",
        series=(
            Curve(name="planned", values=(12.0, 30.0, 0.0)),
            Curve(name="cut", values=(13.0, None, -4.0)),
        ),
    )
    read = Read(bars)
    for kind, values in (("f-fill1", [12, 30, 0]), ("f-fill2", [13, -4])):
        shapes = read.shapes(kind)[1:]
        ends = [sorted({round(read.value(y), 2) + 0.0 for _, y in shape}) for shape in shapes]
        assert ends == [sorted({0.0, float(value)}) for value in values]
    # their numbers stand on them
    assert {"12", "30", "13", "-4"} <= {text for *_, text in read.texts}


def test_parts_of_a_stack_lie_on_each_other() -> None:
    bars = Bars(
        title="t",
        places=("one size", "two sizes"),
        up="EUR",
        series=(
            Curve(name="glass", values=(50.0, 40.0)),
            Curve(name="work", values=(12.0, 15.0)),
            Curve(name="offcuts", values=(-5.0, 0.0)),
        ),
        parts=True,
    )
    read = Read(bars)
    ends = [
        [tuple(sorted({round(read.value(y), 2) + 0.0 for _, y in s})) for s in read.shapes(kind)[1:]]
        for kind in ("f-fill1", "f-fill2", "f-fill3")
    ]
    assert ends == [[(0.0, 50.0), (0.0, 40.0)], [(50.0, 62.0), (40.0, 55.0)], [(-5.0, 0.0), (55.0,)]]
    said = {text for *_, text in read.texts}
    # a stack with a part below zero bears no sum: its height would not say it
    assert "55" in said and "62" not in said


def test_points_of_a_cloud_stand_where_both_scales_say() -> None:
    points = ((20.0, 63.5), (120.0, 81.25), (340.0, 90.0))
    read = Read(Cloud(title="t", across="m2", up="yield, %", groups=(("clear-10", points),)))
    dots = [(float(c.get("cx", "")), float(c.get("cy", ""))) for c in read.root.iter("circle")][1:]
    assert [(read.across(x), read.value(y)) for x, y in dots] == [(near(a, 0.5), near(b)) for a, b in points]


def test_paper_shows_bars_as_high_as_their_values() -> None:
    bars = Bars(
        title="t", places=("a", "b", "c"), up="n", series=(Curve(name="n", values=(12.0, 30.0, 6.0)),)
    )
    chart = chart_of(bars, 500.0, 200.0, 8.0)
    content = document("t", (mm(210), mm(100)), [lambda page: draw_chart(page, chart, 10, 10)])
    image = pypdfium2.PdfDocument(BytesIO(content))[0].render(scale=4).to_numpy()[:, :, ::-1]
    wanted = np.array([int(LIGHT["fill1"][i : i + 2], 16) for i in (1, 3, 5)])
    columns = (image == wanted).all(axis=2).sum(axis=0)
    heights = sorted({int(h) for h in columns if h > 20})
    least, middle, most = heights[0], heights[len(heights) // 2], heights[-1]
    assert most / least == pytest.approx(5, rel=0.05) and most / middle == pytest.approx(2.5, rel=0.05)


# ------------------------------------------------------------ scales


finite = st.floats(min_value=-1e12, max_value=1e12, allow_nan=False) | st.integers(-1000, 1000).map(float)


@given(
    st.lists(finite, max_size=6), st.integers(2, 9), st.sampled_from([0.3, 1.0]), st.sampled_from([0.0, 0.06])
)
@settings(max_examples=70, deadline=None)
def test_ticks_are_round_few_and_around_all_values(
    values: list[float], most: int, zero: float, margin: float
) -> None:
    found = axis(values, most=most, zero=zero, margin=margin)
    ticks = found.ticks
    assert 2 <= len(ticks) <= max(most, 3)
    step = ticks[1] - ticks[0]
    assert all(b - a == step for a, b in pairwise(ticks))
    # 1, 2, 2.5 or 5 times a power of ten [common practice]
    digits = step
    while digits >= 10:
        digits /= 10
    while digits < 1:
        digits *= 10
    assert digits in (1, 2, Fraction(5, 2), 5)
    assert all(ticks[0] <= Fraction(v) <= ticks[-1] for v in values)
    assert all(tick % step == 0 for tick in ticks)
    if values and all(v == round(v) for v in values):
        assert step.denominator == 1
    assert len(set(found.labels)) == len(found.labels)


def test_large_and_small_numbers_have_short_labels() -> None:
    assert axis([2.5e6], most=6, zero=1.0).unit == "millions"
    assert axis([5e9], most=6, zero=1.0).labels == ("0", "1", "2", "3", "4", "5")
    assert axis([4e-7], most=6, zero=1.0).unit == "10^-9"
    assert max(map(len, axis([1e300, 3e300], most=6, zero=1.0).labels)) <= 5


# ------------------------------------------------------------ all kinds of pictures


LONG = (
    "x" * 90,
    "3210x2250, 2550x1605 and 2250x1605",
    "<b>bold</b>",
    "\u202eevil\x00",
    "אקווריום 12",
    "Größe",
)
HARD: tuple[Picture, ...] = (
    FAN,
    Fan(title="t", places=tuple(f"2027-W{i}" for i in range(104)), up="n", curves=(Curve(name="a", values=tuple(range(104))),)),
    Fan(title="t", places=("W",), up="x" * 200, curves=(Curve(name="a", values=(nan,)), Curve(name="b", values=(3.0,)))),
    Fan(title="t", places=WEEKS, up="n", curves=(Curve(name="a", values=(1.0, 2.0)),), levels=(("l", inf), ("m", -1e300))),
    Fan(title="t", places=WEEKS, up="EUR", curves=(Curve(name="x" * 150, values=tuple(1e11 * m for m in MEDIAN)),)),
    Bars(title="t", places=LONG, up="sheets", series=tuple(Curve(name=n, values=(5.0, 0.5, -3.25, None, 1e6, 2.0)) for n in LONG)),
    Bars(title="t", places=LONG[:3], up="sheets", series=tuple(Curve(name=f"series {k}", values=(k + 1.0, 2.0, 3.0)) for k in range(14)), parts=True),
    Bars(title="t", places=tuple(f"W{i}" for i in range(104)), up="m2", series=tuple(Curve(name=f"{k}", values=tuple(float(i % 7 + k) for i in range(104))) for k in range(5)), parts=True),
    Bars(title="t", places=(), up="", series=()),
    Cloud(title="t", across="m2", up="y", groups=(("a", ((1.0, 1.0),)), ("b", ((nan, 2.0), (inf, 1.0))))),
    Cloud(title="t", across="x" * 200, up="EUR", groups=(("a", ((-1e12, 1e-9), (2e12, -3e-9))),)),
    Cloud(title="t", across="", up="", groups=()),
)  # fmt: skip


@pytest.mark.parametrize("size", SIZES)
def test_no_two_texts_touch_and_none_leaves_the_picture(size: tuple[float, float, float]) -> None:
    for picture in HARD:
        boxes = [(part.text, box(part)) for part in chart_of(picture, *size).parts if isinstance(part, Words)]
        for text, (x0, y0, x1, y1) in boxes:
            assert x0 > -0.5 and y0 > -0.5 and x1 < size[0] + 0.5 and y1 < size[1] + 0.5, (picture, text)
        for (a, (ax0, ay0, ax1, ay1)), (b, (bx0, by0, bx1, by1)) in combinations(boxes, 2):
            apart = ax1 <= bx0 + 0.1 or bx1 <= ax0 + 0.1 or ay1 <= by0 + 0.1 or by1 <= ay0 + 0.1
            assert apart, (picture.title, a, b)


def box(words: Words) -> tuple[float, float, float, float]:
    """Around the capitals of a text."""
    long, high = width(words.text, words.size), 0.73 * words.size
    x, y = words.at
    if words.upright:
        return x - high, y - long * words.across, x, y + long * (1 - words.across)
    return x - long * words.across, y, x + long * (1 - words.across), y + high


def test_pictures_without_a_number_are_known_for_empty() -> None:
    assert [is_empty(picture) for picture in HARD].count(True) == 2
    assert is_empty(Fan(title="t", places=WEEKS, up="n", curves=(Curve(name="a", values=(nan, None)),)))


def test_the_words_of_a_picture_tell_its_numbers() -> None:
    said = picture_words(FAN)
    for part in (
        "median: first 9.00, last 14.00",
        "greatest 14.00 at 2027-W17",
        "reorder point: 7",
        "from 5.00 to 20.00",
    ):
        assert part in said
    assert "no value" in picture_words(HARD[2])
    assert "2 points" in picture_words(HARD[10])


# ------------------------------------------------------------ looks


def luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("inks", [LIGHT, DARK])
def test_lines_and_texts_stand_out_from_the_ground(inks: dict[str, str]) -> None:
    # WCAG 2.2: 1.4.11 asks 3:1 of what a picture is understood by, 1.4.3 asks 4.5:1 of text
    for name, colour in inks.items():
        if name.startswith(("line", "level")):
            assert contrast(colour, inks["paper"]) >= 3, name
            assert all(contrast(colour, inks[f"band{i}"]) >= 2 for i in (1, 2)), name
        if name in ("ink", "soft"):
            assert contrast(colour, inks["paper"]) >= 4.5, name


@pytest.mark.parametrize("inks", [LIGHT, DARK])
def test_series_stay_apart_without_colour(inks: dict[str, str]) -> None:
    looks = [look_of(i) for i in range(6)]
    for a, b in combinations(looks, 2):
        tone = contrast(inks[a.fill], inks[b.fill])
        assert a.hatch != b.hatch or tone >= 1.5, (a, b)
        assert a.mark != b.mark
    assert len({(look_of(i).fill, look_of(i).hatch) for i in range(18)}) == 18
    assert len({curve_look(i).dashes for i in range(5)}) == 5
    tones = [luminance(inks[f"band{i}"]) for i in (1, 2, 3)]
    assert tones == sorted(tones, reverse=inks is LIGHT)


def test_a_chart_is_the_same_every_time() -> None:
    first, second = (svg_element(chart_of(FAN, *SIZES[0]), kind="w", label="x") for _ in range(2))
    assert first == second
    assert isinstance(chart_of(FAN, *SIZES[0]), Chart)
