"""Lengths and numbers as people type them: read exactly, or refused with a remedy."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io.lengths import (
    BadValue,
    number_text,
    parse_decimal,
    parse_fraction,
    parse_length,
    settle_decimal,
)
from panewright.nesting.units import INCH, MM, NM_PER_INCH, TICK, LengthStyle, inch, mm, show

MILLIMETRES = [
    ("1203.5", mm("1203.5")),
    ("1203,5", mm("1203.5")),
    (" 1200 mm ", mm(1200)),
    ("1200MM", mm(1200)),
    ("60 cm", mm(600)),
    ("1.2 m", mm(1200)),
    ("0", 0),
    (".5", mm("0.5")),
    ("0.125", mm("0.125")),
    ("1203.50", mm("1203.5")),
]
INCHES = [
    ("23 5/8", inch("189/8")),
    ('23-5/8"', inch("189/8")),
    ("23 5/8 in", inch("189/8")),
    ("23⅝", inch("189/8")),
    ("23 ⅝″", inch("189/8")),
    ("1'-11 5/8\"", inch("189/8")),
    ("1′ 11⅝″", inch("189/8")),
    ("1 ft 11 5/8 in", inch("189/8")),
    ("1'11 5/8", inch("189/8")),
    ("2'", inch(24)),
    ("5/8", inch("5/8")),
    ("0.5 in", inch("1/2")),
    ("23.625", inch("189/8")),
    ("36''", inch(36)),
    ("600 mm", mm(600)),
]


@pytest.mark.parametrize(("text", "expected"), MILLIMETRES)
def test_a_metric_list_reads_millimetres(text: str, expected: int) -> None:
    assert parse_length(text, "mm") == expected


@pytest.mark.parametrize(("text", "expected"), INCHES)
def test_an_inch_list_reads_inches_and_fractions(text: str, expected: int) -> None:
    assert parse_length(text, "in") == expected


@pytest.mark.parametrize(
    "text",
    [
        "nan",
        "inf",
        "-inf",
        "1e3",
        "1E3",
        "-5",
        "+5",
        "",
        " ",
        "mm",
        "12..5",
        "1.2.3",
        "1,2,3",
        "5 furlongs",
        "1234567890123",
        "0.0000000000001",
        "9" * 5000,
        "12 13",
        "23 5/8 mm",
        "23 8/5 in",
        "1/0 in",
        "1'-12\"",
        "1'-5 mm",
        "12345'-1\"",
        "１２",
        "=1+1",
        "0x10",
        "1_000",
        "1\x00",
    ],
)
def test_what_is_no_length_is_refused_with_a_remedy(text: str) -> None:
    with pytest.raises(BadValue) as caught:
        parse_length(text, "mm")
    assert caught.value.reason and caught.value.remedy


@pytest.mark.parametrize("text", ["1.203,5", "1,203.5", "1 203,5", "1'203.5", "1.203.500", "1,203,500"])
def test_grouped_thousands_are_refused_whatever_the_decimal_sign(text: str) -> None:
    for sign in ("point", "comma", "unknown", "mixed"):
        with pytest.raises(BadValue):
            parse_length(text, "mm", sign)  # type: ignore[arg-type]


def test_one_sign_before_three_digits_is_never_guessed() -> None:
    for text in ("1,203", "1.203", "12,500", "600.250"):
        for sign in ("unknown", "mixed"):
            with pytest.raises(BadValue) as caught:
                parse_length(text, "mm", sign)  # type: ignore[arg-type]
            assert f"{text}0" in caught.value.remedy
    assert parse_length("1,2030", "mm") == mm("1.203")
    assert parse_length("600.250", "mm", "point") == mm("600.25")
    assert parse_length("600,250", "mm", "comma") == mm("600.25")
    with pytest.raises(BadValue):
        parse_length("600,250", "mm", "point")
    with pytest.raises(BadValue):
        parse_length("600.250", "mm", "comma")


def test_corner_points_may_be_negative_and_sizes_not() -> None:
    assert parse_length("-12.5", "mm", signed=True) == -mm("12.5")
    assert parse_length("−5/8", "in", signed=True) == -inch("5/8")
    with pytest.raises(BadValue):
        parse_length("--5", "mm", signed=True)
    with pytest.raises(BadValue, match="negative"):
        parse_length("-12.5", "mm")


@pytest.mark.parametrize(
    ("cells", "delimiter", "sign"),
    [
        (["1203,5", "1,203"], None, "comma"),
        (["1203.5", "600"], None, "point"),
        (["1203.5", "1203,5"], None, "mixed"),
        (["1,203", "1.203"], None, "unknown"),
        (["1,203", "600"], ";", "comma"),
        (["1.203", "600"], ";", "unknown"),
        (["600"], ",", "point"),
        (["0 0 | 600,5 0 | 600 250,25"], None, "comma"),
        (["1.203,5"], None, "unknown"),
        ([], None, "unknown"),
    ],
)
def test_the_decimal_sign_is_settled_once_a_file(cells: list[str], delimiter: str | None, sign: str) -> None:
    assert settle_decimal(cells, delimiter) == sign


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (12.0, "12"),
        (1203.5, "1203.5"),
        (0.1, "0.1"),
        (1179.8000000000002, "1179.8"),
        (1e15, "1000000000000000"),
        (1e-7, "0.0000001"),
        (-3.25, "-3.25"),
        (float("nan"), "nan"),
    ],
)
def test_number_cells_are_written_out(value: float, text: str) -> None:
    assert number_text(value) == text


def test_fractions_are_exact_and_other_text_is_none() -> None:
    assert parse_fraction("23 5/8") == Fraction(189, 8)
    assert parse_fraction("¾") == Fraction(3, 4)
    assert parse_fraction("3") is None
    assert parse_decimal("22,5", "comma") == Fraction(45, 2)


@given(st.integers(0, 700_000))
def test_a_shown_metric_length_reads_back_at_a_hundredth(hundredths: int) -> None:
    length = hundredths * 10_000
    assert parse_length(show(length, MM), "in") == length
    assert parse_length(show(length, MM, unit=False), "mm", "point") == length
    assert parse_length(show(length, MM, unit=False).replace(".", ","), "mm", "comma") == length


@given(st.integers(0, 300 * 64))
def test_a_shown_inch_length_reads_back_at_a_sixty_fourth(parts: int) -> None:
    length = parts * NM_PER_INCH // 64
    assert parse_length(show(length, INCH), "mm") == length
    assert parse_length(show(length, INCH, unit=False), "in") == length
    feet, rest = divmod(length, 12 * NM_PER_INCH)
    assert parse_length(f"{feet}'-{show(rest, INCH)}", "mm") == length


@given(st.decimals(0, 9999, places=6, allow_nan=False))
def test_any_decimal_is_rounded_once_by_less_than_a_third_of_a_micrometre(value: object) -> None:
    text = f"{value:f}"
    length = parse_length(text, "mm", "point")
    assert length % TICK == 0
    assert abs(length - Fraction(text) * 1_000_000) <= Fraction(TICK, 2)


@given(st.floats(0.001, 7000))
def test_a_number_cell_is_read_as_its_shortest_text_says(value: float) -> None:
    text = number_text(value)
    assert abs(Fraction(text) - Fraction(value)) <= Fraction(value) / 10**11
    assert "e" not in text.lower()


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    for unit in ("mm", "in"):
        try:
            length = parse_length(text, unit)  # type: ignore[arg-type]
        except BadValue as error:
            assert str(error)
        else:
            assert length >= 0 and length % TICK == 0


def test_the_finest_metric_style_reads_back_every_tick() -> None:
    fine = LengthStyle("mm", 6)
    for ticks in range(0, 40_000, 37):
        assert parse_length(show(ticks * TICK, fine), "mm", "point") == ticks * TICK
