"""Entities written straight are those that the library ezdxf writes for the same parts, to the letter."""

from __future__ import annotations

from io import StringIO

import ezdxf
import pytest
from ezdxf.enums import TextEntityAlignment
from ezdxf.lldxf.tagwriter import TagWriter
from hypothesis import given, settings
from hypothesis import strategies as st

from panewright.io import palette
from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.dxf_entities import STYLE, entities_text
from panewright.io.dxf_text import dxf_escaped
from panewright.io.rounded import bulged
from panewright.io.scene_model import Circle, Line, Polyline, Scene, Text

ALIGN = {
    ("left", "base"): TextEntityAlignment.LEFT,
    ("centre", "base"): TextEntityAlignment.CENTER,
    ("right", "base"): TextEntityAlignment.RIGHT,
    ("left", "middle"): TextEntityAlignment.MIDDLE_LEFT,
    ("centre", "middle"): TextEntityAlignment.MIDDLE_CENTER,
    ("right", "middle"): TextEntityAlignment.MIDDLE_RIGHT,
}
lengths = st.integers(-(10**10), 10**10)
points = st.tuples(lengths, lengths)
layers = st.sampled_from([palette.PANEL_CUT, palette.SCORE_1, palette.PANEL_TEXT, palette.CULLET])
words = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=20)
texts = st.builds(
    Text,
    layers,
    words,
    points,
    st.integers(1, 10**8),
    st.sampled_from(["left", "centre", "right"]),
    st.sampled_from(["base", "middle"]),
    st.sampled_from([0, 90_000, 45_500, -30_000]),
)
square = st.builds(
    lambda x, y, s, r: Polyline(
        palette.PANEL_CUT, ((x, y), (x + s, y), (x + s, y + s), (x, y + s)), (0, r, 0, r) if r else ()
    ),
    lengths,
    lengths,
    st.integers(10**8, 10**9),
    st.sampled_from([0, 10**7, 5 * 10**7]),
)
parts = st.one_of(
    texts,
    square,
    st.builds(Line, layers, points, points),
    st.builds(Circle, layers, points, st.integers(1, 10**9)),
)


def by_library(drawn: list, nm: int) -> tuple[str, int, str]:
    """The tags that ezdxf writes, the handle of the first entity and that of their owner."""
    doc = ezdxf.new("R2010")
    doc.styles.add(STYLE, font="arial.ttf")
    for layer in {part.layer.name for part in drawn}:
        doc.layers.add(layer)
    msp = doc.modelspace()
    first = int(str(doc.entitydb.handles), 16)

    def at(p: tuple[int, int]) -> tuple[float, float]:
        return p[0] / nm, p[1] / nm

    for part in drawn:
        on = {"layer": part.layer.name}
        match part:
            case Polyline() if any(part.radii):
                corners = [(x / nm, y / nm, b) for x, y, b in bulged(part.points, part.radii)]
                msp.add_lwpolyline(corners, format="xyb", close=True, dxfattribs=on)
            case Polyline():
                msp.add_lwpolyline([at(p) for p in part.points], close=True, dxfattribs=on)
            case Line():
                msp.add_line(at(part.start), at(part.end), dxfattribs=on)
            case Circle():
                msp.add_circle(at(part.centre), part.radius / nm, dxfattribs=on)
            case Text():
                text = msp.add_text(
                    dxf_escaped(part.text),
                    height=part.height / nm,
                    rotation=part.rotation / 1000,
                    dxfattribs={**on, "style": STYLE, "linetype": "Continuous"},
                )
                text.set_placement(at(part.at), align=ALIGN[part.across, part.up])
    stream = StringIO(newline="\n")
    writer = TagWriter(stream, dxfversion=doc.dxfversion, write_handles=True)
    for entity in msp:
        entity.export_dxf(writer)
    return stream.getvalue(), first, str(msp.layout_key)


@given(st.lists(parts, min_size=1, max_size=6), st.sampled_from([1_000_000, 25_400_000]))
@settings(max_examples=150)
def test_every_kind_is_written_as_the_library_writes_it(drawn: list, nm: int) -> None:
    wanted, first, owner = by_library(drawn, nm)
    text, after = entities_text(drawn, first, owner, nm)
    assert text == wanted
    assert after == first + len(drawn)


@given(st.lists(parts, min_size=1, max_size=6), st.sampled_from(["mm", "in"]))
@settings(max_examples=40)
def test_the_audit_of_the_library_finds_nothing(drawn: list, unit: str) -> None:
    content = dxf_bytes(Scene("a scene", 30_000_000, tuple(drawn)), unit).decode()
    doc = ezdxf.read(StringIO(content))
    audit = doc.audit()
    assert not audit.has_errors and not audit.has_fixes
    assert len(doc.modelspace()) == len(drawn)
    handles = [e.dxf.handle for e in doc.entitydb.values()]
    assert len(set(handles)) == len(handles)


def test_a_drawing_does_not_depend_on_what_was_drawn_before() -> None:
    one = Scene("one", 30_000_000, (Line(palette.PANEL_CUT, (0, 0), (10**9, 10**9)),))
    two = Scene("two", 20_000_000, (Line(palette.PANEL_CUT, (5, 5), (10**8, 10**9)),) * 3)
    alone = dxf_bytes(one, "mm")
    assert dxf_bytes(two, "mm") != alone
    assert dxf_bytes(one, "mm") == alone
    header = ezdxf.read(StringIO(alone.decode())).header
    assert header["$LTSCALE"] == pytest.approx(30) and header["$HANDSEED"]
