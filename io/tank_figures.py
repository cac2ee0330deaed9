"""The rows that tell of a tank: panels, thickness check and by-products, for screen, files and drawings."""

from __future__ import annotations

from dataclasses import dataclass

from panewright.io.order_lists import Orders, TankOrder
from panewright.io.panel_list import Read
from panewright.io.panel_list_text import edges_words, work_words
from panewright.io.step_words import show_mass
from panewright.nesting.glass import designation, glass_key, mass_grams
from panewright.nesting.outlines import Outline, area2, box, is_rectangle
from panewright.nesting.shop import Shop
from panewright.nesting.shop_tanks import BaseSupport
from panewright.nesting.strength.verdict import BaseVerdict, WallVerdict
from panewright.nesting.tanks.by_products import by_products
from panewright.nesting.tanks.cut import piece_shape
from panewright.nesting.tanks.made import TankPiece
from panewright.nesting.tanks.plan_shapes import PlanShape
from panewright.nesting.text import local_number, tr
from panewright.nesting.tolerances import Tolerance, tolerance
from panewright.nesting.units import NM3_PER_GALLON, NM3_PER_LITRE, NM_PER_MM, current_style, show, show_size


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceRow:
    """Equal pieces of a tank.

    Parameters
    ----------
    names
        Of all of them.
    piece
        The first.
    cut
        Cut outline. [nm]
    grams
        Of one. [g]
    tolerance
        Of one.
    """

    names: tuple[str, ...]
    piece: TankPiece
    cut: Outline
    grams: int
    tolerance: Tolerance


def piece_rows(order: TankOrder, shop: Shop) -> list[PieceRow]:
    """The pieces of one tank, equal ones together, in the order of the tank."""
    groups: dict[tuple[object, ...], list[TankPiece]] = {}
    for piece in order.settled.built.pieces:
        key = (piece.kind, piece.thickness, piece.finished, piece.edges, piece.openings)
        groups.setdefault(key, []).append(piece)
    out = []
    for pieces in groups.values():
        piece = pieces[0]
        out.append(
            PieceRow(
                names=tuple(p.name for p in pieces),
                piece=piece,
                cut=piece_shape(piece, shop, order.settled.built.tank.tips).outline,
                grams=mass_grams(area2(piece.finished), piece.thickness),
                tolerance=_tolerance(piece, shop),
            )
        )
    return out


def _tolerance(piece: TankPiece, shop: Shop) -> Tolerance:
    _, _, width, height = box(piece.finished)
    return tolerance(shop.tanks.tolerance, piece.thickness, width, height)


def outline_words(outline: Outline) -> str:
    """Size of the box, marked where the outline is no rectangle."""
    x0, y0, x1, y1 = box(outline)
    size = show_size(x1 - x0, y1 - y0)
    return size if is_rectangle(outline) else tr("{size} angled", size=size)


def piece_cells(row: PieceRow, quantity: int) -> list[str]:
    """A row of the panel table: names, pieces of all equal tanks, glass, sizes, mass, edges."""
    piece = row.piece
    return [
        ", ".join(row.names),
        str(len(row.names) * quantity),
        glass_key(piece.kind, piece.thickness),
        outline_words(piece.finished),
        outline_words(row.cut),
        show_mass(row.grams).removesuffix(" kg"),
        str(len(piece.openings) or ""),
        edges_words(piece.edges),
    ]


PIECE_HEADINGS = ("panel", "pieces", "glass", "finished", "cut", "kg each", "openings", "edges")


def odd_singles(orders: Orders) -> list[Read]:
    """The rows with single panels that are no rectangles."""
    return [read for read in orders.singles if not is_rectangle(read.panel.finished)]


SINGLE_HEADINGS = ("panel", "pieces", "glass", "finished", "cut", "kg each", "edges")


def single_cells(read: Read) -> list[str]:
    """A row of the table of single panels."""
    panel = read.panel
    return [
        f"{panel.order} {panel.name}",
        str(read.quantity),
        panel.glass,
        outline_words(panel.finished),
        outline_words(panel.cut),
        show_mass(panel.mass_grams).removesuffix(" kg"),
        edges_words(panel.edges),
    ]


def check_cells(order: TankOrder) -> list[list[str]]:
    """Rows of the thickness check: equal walls together, the base last."""
    check = order.settled.check
    groups: dict[tuple[str, ...], list[str]] = {}
    for name, verdict in (*check.walls, ("base", check.base)):
        groups.setdefault(tuple(_verdict(verdict)), []).append(name)
    return [[", ".join(names), *cells] for cells, names in groups.items()]


CHECK_HEADINGS = (
    "panel",
    "span x height",
    "least mm",
    "brim N/mm2",
    "level N/mm2",
    "bow",
    "joint N/mm2",
    "verdict",
    "what is used most",
)


def _verdict(verdict: WallVerdict | BaseVerdict | None) -> list[str]:
    if verdict is None:
        return [
            "",
            "",
            "",
            "",
            "",
            "",
            tr("not checked"),
            tr("it or its braces are no float glass, or its least thickness is not known"),
        ]
    cells = [show_size(*verdict.case.size), local_number(designation(verdict.least))]
    if verdict.brim is None or verdict.stated is None:
        inwards = isinstance(verdict, BaseVerdict) and verdict.case.support is not BaseSupport.BEDDED
        why = (
            tr("turns inwards at a corner: not computed")
            if inwards
            else tr("bedded on its whole area: not computed")
        )
        return [*cells, "", "", "", "", verdict.outcome.words, why]
    said = verdict.reason
    if isinstance(verdict, WallVerdict):
        said = tr("{reason}; {top}", reason=said, top=verdict.top.words)
    return [
        *cells,
        local_number(f"{verdict.brim.stress:.2f}"),
        local_number(f"{verdict.stated.stress:.2f}"),
        local_number(f"{verdict.brim.deflection:.2f} mm"),
        local_number(f"{verdict.brim.bond:.3f}"),
        verdict.outcome.words,
        said,
    ]


def tank_title(order: TankOrder) -> str:
    """Order, name, number and shape of a tank, and its outside size."""
    tank, vessel = order.settled.built.tank, order.settled.built.vessel
    length, width, height = vessel.size
    size = f"{show_size(length, width).removesuffix(' mm')} x {show(height)}"
    many = tr("{count} tanks", count=tank.quantity) if tank.quantity > 1 else tr("1 tank")
    return tr(
        "{name}: {many}, {shape}, {size} outside",
        name=tank.title,
        many=many,
        shape=shape_words(tank.shape),
        size=size,
    )


def shape_words(shape: PlanShape) -> str:
    """Name of a plan shape; of a regular one its number of sides."""
    if shape.kind == "regular":
        return tr("regular of {count} sides", count=len(shape.walls))
    return tr(shape.kind)


def facts(order: TankOrder, shop: Shop) -> list[str]:
    """Lines about one tank: how it is built, water, masses, silicone, edgework, floor load, lifts."""
    built = order.settled.built
    tank, vessel = built.tank, built.vessel
    more = by_products(built, shop.tanks, shop.lifts)
    x0, y0, x1, y1 = box(vessel.inner)
    inside = f"{show_size(x1 - x0, y1 - y0).removesuffix(' mm')} x {show(vessel.inner_height)}"
    allowed = _tolerance(built.pieces[0], shop)
    lines = [
        tr(
            "inside {size}, walls {walls}, joints {joint}, {base}; tolerance {level}: {side} a side, {diagonal} between diagonals",
            size=inside,
            walls=tr(tank.walls.value),
            joint=show(tank.joint),
            base=tr("base bedded") if tank.base is BaseSupport.BEDDED else tr("base on its rim"),
            level=shop.tanks.tolerance.value,
            side=show(allowed.side),
            diagonal=show(allowed.diagonal),
        ),
        tr(
            "water {brim} to the brim, {level} to the stated level ({water}); glass {empty}, filled {full},"
            " {load} kg on every m2 of floor",
            brim=litres(more.litres_brim),
            level=litres(more.litres_level),
            water=tr(tank.water.value),
            empty=show_mass(more.glass_grams),
            full=show_mass(more.filled_grams),
            load=-(-more.floor_load // 1000),
        ),
        tr(
            "silicone {joint} m of joints, {ml} ml, cartridges {count} without loss; edgework {edges}",
            joint=metres(more.joint_length),
            ml=-(-more.silicone_ml // 1000),
            count=more.cartridges,
            edges=", ".join(f"{work_words(work)} {metres(far)} m" for work, far in more.edgework.items()),
        ),
    ]
    if more.heavy:
        parts = [
            tr("{name} {mass}: {lift}", name=name, mass=show_mass(mass), lift=tr(lift.value))
            for name, mass, lift in more.heavy
        ]
        lines.append(tr("lifts: {parts}", parts="; ".join(parts)))
    persons = -(-more.glass_grams // shop.lifts.one_grams)
    if more.glass_grams > shop.lifts.two_grams:
        lines.append(
            tr(
                "the empty tank weighs {mass}: lifting gear, or {count} persons at least",
                mass=show_mass(more.glass_grams),
                count=persons,
            )
        )
    return lines


def litres(thousandths: int) -> str:
    """A volume in litres, and in US gallons where inches are shown."""
    text = local_number(f"{thousandths / 1000:,.1f} l")
    if current_style().unit == "in":
        gallons = thousandths * NM3_PER_LITRE / (1000 * NM3_PER_GALLON)
        text = local_number(f"{gallons:,.1f} gal") + f" ({text})"
    return text


def metres(length: int) -> str:
    """A length in metres with two decimals."""
    return local_number(f"{length / (1000 * NM_PER_MM):.2f}")
