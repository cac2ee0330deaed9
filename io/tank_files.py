"""What `panels` writes: the panel list, the drawings of the tanks, and the check as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.file_names import distinct_names
from panewright.io.numbers_text import Raw, decimal, kilograms, length, spread
from panewright.io.order_lists import Orders, TankOrder
from panewright.io.panel_list import Read
from panewright.io.panel_list_text import edges_text, panel_list_text
from panewright.io.pocket_words import pockets_json
from panewright.io.rack_words import ordered_json
from panewright.io.svg_drawing import svg_text
from panewright.io.tank_figures import PieceRow, odd_singles, piece_rows
from panewright.io.tank_scene import tank_scene
from panewright.nesting.glass import glass_key
from panewright.nesting.hole_limits import region_of
from panewright.nesting.outlines import box
from panewright.nesting.shape_findings import inner_radius
from panewright.nesting.shop import Shop
from panewright.nesting.strength.verdict import LevelCheck, PlateVerdict
from panewright.nesting.tanks.by_products import by_products
from panewright.nesting.units import LengthUnit

PANEL_LIST: Final = "panels.csv"
CHECK_FILE: Final = "tanks.json"


def tank_files(orders: Orders, shop: Shop, program: str) -> Iterator[tuple[str, str | bytes]]:
    """Name and content of every file, one after the other."""
    yield PANEL_LIST, panel_list_text(orders.panels, shop)
    yield CHECK_FILE, spread(tanks_json(orders, shop, program), 4) + "\n"
    unit: LengthUnit = shop.length_style.unit
    names = distinct_names(
        f"tank-{order.settled.built.tank.order}-{order.settled.built.tank.name}" for order in orders.tanks
    )
    for order, name in zip(orders.tanks, names, strict=True):
        scene = tank_scene(order, shop)
        yield f"{name}.svg", svg_text(scene)
        yield f"{name}.dxf", dxf_bytes(scene, unit)


def tanks_json(orders: Orders, shop: Shop, program: str) -> dict[str, Any]:
    """All tanks with their panels, check and by-products, for programs. Lengths in mm."""
    return {
        "program": program,
        "panels": len(orders.panels),
        "design_stress": fixed(float(shop.strength.design_stress)),
        "tanks": [_tank(order, shop) for order in orders.tanks],
        **({"singles": found} if (found := [_single(read, shop) for read in odd_singles(orders)]) else {}),
        **ordered_json(orders.panels),
    }


def _pockets(row: PieceRow, shop: Shop) -> dict[str, Any]:
    piece = row.piece
    rules = shop.rules(glass_key(piece.kind, piece.thickness))
    radius, _ = inner_radius(rules, piece.thickness, region_of(shop.list_unit))
    return pockets_json(piece.finished, row.cut, radius)


def _single(read: Read, shop: Shop) -> dict[str, Any]:
    panel = read.panel
    radius, _ = inner_radius(shop.rules(panel.glass), panel.thickness, region_of(shop.list_unit))
    return {
        "order": panel.order,
        "name": panel.name,
        "quantity": read.quantity,
        "glass": panel.glass,
        "finished": [[length(x), length(y)] for x, y in panel.finished],
        "cut": [[length(x), length(y)] for x, y in panel.cut],
        "corners": list(read.names),
        "edges": edges_text(panel.edges),
        "allowances": [length(edge.allowance) for edge in panel.edges],
        "kg": kilograms(panel.mass_grams),
        "tips": [{"corner": read.names[tip.corner], "reach": length(tip.reach)} for tip in panel.tips],
        **pockets_json(panel.finished, panel.cut, radius, read.names),
        "findings": [{"about": f.about.value, "words": f.words, "remedy": f.remedy} for f in read.findings],
    }


def _tank(order: TankOrder, shop: Shop) -> dict[str, Any]:
    built, check = order.settled.built, order.settled.check
    tank, vessel = built.tank, built.vessel
    more = by_products(built, shop.tanks, shop.lifts)
    x0, y0, x1, y1 = box(vessel.inner)
    return {
        "order": tank.order,
        "name": tank.name,
        "quantity": tank.quantity,
        "shape": tank.shape.kind,
        "due": tank.due.isoformat() if tank.due else None,
        "outside": [length(side) for side in vessel.size],
        "inside": [length(x1 - x0), length(y1 - y0), length(vessel.inner_height)],
        "panels": [
            {
                "names": list(row.names),
                "pieces": len(row.names) * tank.quantity,
                "glass": glass_key(row.piece.kind, row.piece.thickness),
                "finished": [[length(x), length(y)] for x, y in row.piece.finished],
                "cut": [[length(x), length(y)] for x, y in row.cut],
                "edges": edges_text(row.piece.edges),
                "allowances": [length(edge.allowance) for edge in row.piece.edges],
                "openings": len(row.piece.openings),
                "kg": kilograms(row.grams),
                "tolerance": [length(row.tolerance.side), length(row.tolerance.diagonal)],
                **_pockets(row, shop),
            }
            for row in piece_rows(order, shop)
        ],
        "check": {
            "verdict": check.words,
            "too_thin": list(check.too_thin),
            "rim_braces_too_weak": list(check.weak_rims),
            "joints_overloaded": list(check.overloaded),
            "qualified_person": check.qualified,
            "panels": {
                name: None if verdict is None else _verdict(verdict)
                for name, verdict in (*check.walls, ("base", check.base))
            },
            "cautions": list(check.cautions),
        },
        "advice": list(order.settled.advice),
        "findings": [
            {"panel": f.panel, "words": f.words, "remedy": f.remedy, "warning": f.loud}
            for f in order.findings
        ],
        "by_products": {
            "litres_brim": decimal(more.litres_brim, 3),
            "litres_level": decimal(more.litres_level, 3),
            "glass_kg": kilograms(more.glass_grams),
            "filled_kg": kilograms(more.filled_grams),
            "floor_kg_m2": kilograms(more.floor_load),
            "joint_m": decimal(more.joint_length // 10**6, 3),
            "silicone_ml": decimal(more.silicone_ml, 3),
            "cartridges": more.cartridges,
            "edgework_m": {work.value: decimal(far // 10**6, 3) for work, far in more.edgework.items()},
            "heavy": [
                {
                    "panel": name,
                    "kg": kilograms(mass),
                    "lift": lift.value,
                }
                for name, mass, lift in more.heavy
            ],
        },
    }


def _verdict(verdict: PlateVerdict) -> dict[str, Any]:
    return {
        "outcome": verdict.outcome.value,
        "least_thickness": length(verdict.least),
        "why": verdict.reason,
        "brim": _level(verdict.brim),
        "stated_level": _level(verdict.stated),
    }


def _level(check: LevelCheck | None) -> dict[str, Any] | None:
    if check is None:
        return None
    return {
        "level": length(check.level),
        "stress": fixed(check.stress),
        "hogging": fixed(check.hogging),
        "bow": fixed(check.deflection),
        "joint_stress": fixed(check.bond),
        "used": {limit.value: fixed(use) for use, limit in check.uses},
    }


def fixed(value: float, places: int = 4) -> Raw:
    """A computed figure as a number with a few decimals."""
    return decimal(round(value * 10**places), places)
