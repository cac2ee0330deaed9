"""Reads the entries of a plan file into the domain: rules, panels, sheets with cuts and leaves, bounds."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from panewright.io import plan_keys as keys
from panewright.io.plan_values import Values
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.errors import InvalidRule
from panewright.nesting.flaws import KINDS, NEVER_TOLERATED, Flaw, Tolerance, Zone
from panewright.nesting.openings import CutOut, Hole, Opening
from panewright.nesting.panels import Panel, Purpose, Turn
from panewright.nesting.plan import Bound, Cut, CutKind, GlassOutcome, Layout, Leaf, LeafKind, Unplaced
from panewright.nesting.rules import Rules
from panewright.nesting.shop_table import Habit
from panewright.nesting.stock import Side, Trim
from panewright.nesting.text import tr
from panewright.nesting.tips import Tip

LONGEST_NAME: Final = 2000
"""Piece names grow with the depth of the cut tree. [characters]"""
TOLERATED: Final = tuple(kind for kind in KINDS if kind not in NEVER_TOLERATED)
MOST_OPENINGS: Final = 500
"""Of one panel: a drawing compares the words of all with all."""


class Parts(Values):
    """Reads the entries of a plan file; what they hold besides is kept by its path."""

    def __init__(self, source: str) -> None:
        super().__init__(source)
        self.kept: dict[str, dict[str, Any]] = {}

    def keep(self, data: dict[str, Any], known: frozenset[str], path: str) -> None:
        """Keep the keys that this version does not know."""
        if more := self.others(data, known, path):
            self.kept[path] = more

    def beside(self, path: str, names: Iterable[str]) -> dict[str, Any]:
        """What the entries of a list hold besides, by the name of each."""
        found = ((name, self.kept.get(f"{path}[{i}]")) for i, name in enumerate(names))
        return {name: more for name, more in found if more}

    def rules(self, data: Any, path: str) -> Rules:
        """The rules of one glass."""
        self.keep(self.object(data, path), keys.RULE_KEYS, path)
        largest, longest = data.get("largest_piece"), data.get("longest_cut")
        levels = self.get(data, "levels", path)
        break_out = self.width(self.get(data, "break_out", path), f"{path}.break_out")
        deep, radius = data.get("corner_depth"), data.get("inner_radius")
        angled, marks = data.get("longest_angled_cut"), data.get("mark_step")
        try:
            return Rules(
                break_out=break_out,
                levels=None if levels is None else self.whole(levels, f"{path}.levels", 1, 9),
                last_cut=self.flag(self.get(data, "last_cut", path), f"{path}.last_cut"),
                longest_cut=None if longest is None else self.width(longest, f"{path}.longest_cut"),
                largest_piece=None if largest is None else self.point(largest, f"{path}.largest_piece"),
                level1_gap=self._from_to(self.get(data, "level1_gap", path), f"{path}.level1_gap"),
                least_offcut=self.point(self.get(data, "least_offcut", path), f"{path}.least_offcut"),
                corner_depth=break_out if deep is None else self.width(deep, f"{path}.corner_depth"),
                least_angle=self.number(data.get("least_angle", 30), 3, f"{path}.least_angle", 90),
                longest_angled_cut=(
                    None if angled is None else self.width(angled, f"{path}.longest_angled_cut")
                ),
                mark_step=None if marks is None else self.width(marks, f"{path}.mark_step"),
                inner_radius=None if radius is None else self.width(radius, f"{path}.inner_radius"),
                level1_width=self._from_to(data.get("level1_width", [0, None]), f"{path}.level1_width"),
                level2_width=self.width(data.get("level2_width", 0), f"{path}.level2_width"),
                least_waste=self.width(data.get("least_waste", 0), f"{path}.least_waste"),
                deepest_once=self.flag(data.get("deepest_once", False), f"{path}.deepest_once"),
            )
        except InvalidRule as error:
            self.fail(path, "", str(error))

    def _from_to(self, value: Any, path: str) -> tuple[int, int | None]:
        """A least and a greatest length, or null for no greatest. [nm]"""
        if not isinstance(value, list) or len(value) != 2:
            self.fail(path, value, tr("expected two numbers"))
        least = self.width(value[0], f"{path}[0]")
        return least, None if value[1] is None else self.width(value[1], f"{path}[1]")

    def edge(self, data: Any, path: str) -> Edge:
        """The edgework of one edge."""
        self.keep(self.object(data, path), keys.EDGE_KEYS, path)
        small = data.get("small_face")
        return Edge(
            work=self.choice(Work, self.get(data, "work", path), f"{path}.work"),
            allowance=self.width(self.get(data, "allowance", path), f"{path}.allowance"),
            mitre=self.number(data.get("mitre", 0), 3, f"{path}.mitre", 90),
            small_face=None if small is None else self.word(["up", "down"], small, f"{path}.small_face"),
        )

    def opening(self, data: Any, path: str) -> Opening:
        """One hole or cut-out."""
        if self.word(["hole", "cut_out"], self.get(data, "kind", path), f"{path}.kind") == "hole":
            self.keep(data, keys.HOLE_KEYS, path)
            return Hole(
                center=self.point(self.get(data, "center", path), f"{path}.center"),
                diameter=self.width(self.get(data, "diameter", path), f"{path}.diameter"),
            )
        self.keep(data, keys.CUT_OUT_KEYS, path)
        return CutOut(
            outline=self.outline(self.get(data, "outline", path), f"{path}.outline"),
            corner_radius=self.width(data.get("corner_radius", 0), f"{path}.corner_radius"),
        )

    def tip(self, data: Any, path: str, corners: int) -> Tip:
        """One tip that is cut back, of a panel with so many corners."""
        self.keep(self.object(data, path), keys.TIP_KEYS, path)
        corner = self.whole(self.get(data, "corner", path), f"{path}.corner", 0)
        if corner >= corners:
            self.fail(f"{path}.corner", corner, tr("the finished outline has {count} corners", count=corners))
        return Tip(corner, self.width(self.get(data, "reach", path), f"{path}.reach"))

    def tolerance(self, value: Any, path: str) -> Tolerance:
        """A kind of flaws, the zone in which an order takes them, and its depth."""
        if not isinstance(value, list) or len(value) != 3:
            self.fail(path, value, tr("expected a kind, a zone and a depth"))
        return Tolerance(
            kind=self.word(TOLERATED, value[0], f"{path}[0]"),
            zone=self.choice(Zone, value[1], f"{path}[1]").value,
            depth=self.width(value[2], f"{path}[2]"),
        )

    def place(self, data: dict[str, Any], path: str) -> tuple[str, int | None]:
        """The rack of a panel and its slot there; neither without the other."""
        rack, slot = self.text(data.get("rack", ""), f"{path}.rack"), data.get("slot")
        if bool(rack) != (slot is not None):
            self.fail(f"{path}.slot", slot, tr("a rack and a slot go together"))
        return rack, None if slot is None else self.whole(slot, f"{path}.slot")

    def panel(self, data: Any, path: str) -> tuple[Panel, dict[str, Any], Any]:
        """One panel, what its entry holds besides, and its mass as stated."""
        finished = self.outline(self.get(data, "finished", path), f"{path}.finished")
        stock = data.get("from_stock")
        edges = self.each(self.get(data, "edges", path), f"{path}.edges", self.edge)
        if len(edges) != len(finished):
            self.fail(
                f"{path}.edges",
                len(edges),
                tr("the finished outline has {count} edges", count=len(finished)),
                tr("give one entry for each edge"),
            )
        listed, at = data.get("openings", []), f"{path}.openings"
        if isinstance(listed, list) and len(listed) > MOST_OPENINGS:
            self.fail(at, len(listed), tr("expected at most {most} openings", most=MOST_OPENINGS))
        openings = self.each(listed, at, self.opening)
        rack, slot = self.place(data, path)
        tips = self.each(data.get("tips", []), f"{path}.tips", lambda v, p: self.tip(v, p, len(finished)))
        panel = Panel(
            id=self.text(self.get(data, "id", path), f"{path}.id"),
            order=self.text(self.get(data, "order", path), f"{path}.order"),
            name=self.text(self.get(data, "name", path), f"{path}.name"),
            due=self.day(data.get("due"), f"{path}.due"),
            purpose=self.choice(Purpose, self.get(data, "purpose", path), f"{path}.purpose"),
            glass=self.text(self.get(data, "glass", path), f"{path}.glass"),
            thickness=self.width(self.get(data, "thickness", path), f"{path}.thickness"),
            finished=finished,
            cut=self.outline(self.get(data, "cut", path), f"{path}.cut"),
            edges=edges,
            narrow=self.flag(data.get("narrow", False), f"{path}.narrow"),
            turn=self.choice(Turn, self.get(data, "turn", path), f"{path}.turn"),
            mirror=self.flag(self.get(data, "mirror", path), f"{path}.mirror"),
            from_stock=None if stock is None else self.text(stock, f"{path}.from_stock"),
            note=self.text(data.get("note", ""), f"{path}.note", 2000),
            openings=openings,
            tips=tips,
            booked=self.day(data.get("booked"), f"{path}.booked"),
            product=self.text(data.get("product", ""), f"{path}.product"),
            rack=rack,
            slot=slot,
            tolerates=self.each(data.get("tolerates", []), f"{path}.tolerates", self.tolerance),
        )
        beside = self.others(data, keys.PANEL_KEYS, path)
        if more := self.beside(f"{path}.edges", map(str, range(len(edges)))):
            beside["edges"] = more
        if more := self.beside(f"{path}.openings", map(str, range(len(openings)))):
            beside["openings"] = more
        if more := self.beside(f"{path}.tips", map(str, range(len(tips)))):
            beside["tips"] = more
        return panel, beside, data.get("mass_kg")

    def cut(self, data: Any, path: str) -> Cut:
        """One cut."""
        makes = self.get(data, "makes", path)
        if not isinstance(makes, list) or len(makes) != 2:
            self.fail(f"{path}.makes", makes, tr("expected two piece names"))
        level, place = data.get("level"), data.get("placement")
        self.keep(data, keys.CUT_KEYS, path)
        return Cut(
            step=self.whole(self.get(data, "step", path), f"{path}.step", 1),
            piece=self.text(self.get(data, "piece", path), f"{path}.piece", LONGEST_NAME),
            start=self.point(self.get(data, "from", path), f"{path}.from"),
            end=self.point(self.get(data, "to", path), f"{path}.to"),
            makes=(
                self.text(makes[0], f"{path}.makes[0]", LONGEST_NAME),
                self.text(makes[1], f"{path}.makes[1]", LONGEST_NAME),
            ),
            kind=self.choice(CutKind, self.get(data, "kind", path), f"{path}.kind"),
            level=None if level is None else self.whole(level, f"{path}.level", 0, 1000),
            placement=None if place is None else self.whole(place, f"{path}.placement", 1, 100_000),
        )

    def sides(self, value: Any, path: str) -> tuple[Side, ...]:
        """Names of sides, in the order of `Side`."""
        found = set(self.each(value, path, lambda v, p: self.choice(Side, v, p)))
        return tuple(s for s in Side if s in found)

    def leaf(self, data: Any, path: str, known: frozenset[str]) -> Leaf:
        """One leaf; `known` are the ids of the panels."""
        kind = self.choice(LeafKind, self.get(data, "is", path), f"{path}.is")
        panel = offcut = None
        turned = 0
        if kind is LeafKind.PANEL:
            panel = self.text(self.get(data, "panel", path), f"{path}.panel")
            if panel not in known:
                self.fail(f"{path}.panel", panel, tr("there is no such panel in this plan"))
            turned = self.number(self.get(data, "turned", path), 9, f"{path}.turned", 360)
        if kind is LeafKind.OFFCUT:
            offcut = self.text(self.get(data, "offcut", path), f"{path}.offcut")
        self.keep(data, keys.LEAF_KEYS, path)
        mirrored, raw = data.get("mirrored", False), data.get("raw", [])
        return Leaf(
            piece=self.text(self.get(data, "piece", path), f"{path}.piece", LONGEST_NAME),
            outline=self.outline(self.get(data, "outline", path), f"{path}.outline"),
            kind=kind,
            panel=panel,
            turned=turned,
            mirrored=self.flag(mirrored, f"{path}.mirrored") and kind is LeafKind.PANEL,
            offcut=offcut,
            raw=self.sides(raw, f"{path}.raw") if kind is LeafKind.OFFCUT else (),
        )

    def flaw(self, value: Any, path: str) -> tuple[int, int, int, int]:
        """A rectangle x, y, width, height. [nm]"""
        if not isinstance(value, list) or len(value) != 4:
            self.fail(path, value, tr("expected four numbers"))
        x, y = self.length(value[0], f"{path}[0]"), self.length(value[1], f"{path}[1]")
        return x, y, self.width(value[2], f"{path}[2]"), self.width(value[3], f"{path}[3]")

    def spot(self, value: Any, path: str) -> Flaw:
        """A rectangle and the kind of the flaw in it. [nm]"""
        if not isinstance(value, list) or len(value) != 5:
            self.fail(path, value, tr("expected four numbers and a kind"))
        return Flaw(*self.flaw(value[:4], path), self.word(TOLERATED, value[4], f"{path}[4]"))

    def flaw_kinds(self, data: dict[str, Any], path: str) -> tuple[str, ...]:
        """The kind of each flaw, empty where it is not known."""
        if "flaw_kinds" not in data:
            return ()
        listed, flaws = data["flaw_kinds"], data.get("flaws", [])
        if not isinstance(listed, list) or not isinstance(flaws, list) or len(listed) != len(flaws):
            self.fail(f"{path}.flaw_kinds", listed, tr("expected one kind for each flaw"))
        return self.each(listed, f"{path}.flaw_kinds", lambda v, p: self.word(("", *KINDS), v, p))

    def layout(self, data: Any, path: str, known: frozenset[str]) -> tuple[Layout, dict[str, Any]]:
        """One sheet, and what its entry holds besides."""
        trim, at = self.get(data, "trim", path), f"{path}.trim"
        width, height = (self.width(self.get(data, k, path), f"{path}.{k}") for k in ("width", "height"))
        if not width or not height:
            self.fail(path, "", tr("a sheet needs a width and a height"))
        layout = Layout(
            number=self.whole(self.get(data, "number", path), f"{path}.number", 1),
            glass=self.text(self.get(data, "glass", path), f"{path}.glass"),
            stock=self.text(self.get(data, "stock", path), f"{path}.stock"),
            is_offcut=self.flag(self.get(data, "is_offcut", path), f"{path}.is_offcut"),
            cost=self.money(self.get(data, "cost", path), f"{path}.cost"),
            width=width,
            height=height,
            raw=self.sides(self.get(data, "raw", path), f"{path}.raw"),
            trim=Trim(*(self.width(self.get(trim, s.value, at), f"{at}.{s.value}") for s in Side)),
            flaws=self.each(data.get("flaws", []), f"{path}.flaws", self.flaw),
            flaw_kinds=self.flaw_kinds(data, path),
            spots=self.each(data.get("spots", []), f"{path}.spots", self.spot),
            take=None if data.get("take") is None else self.whole(data["take"], f"{path}.take"),
            cuts=self.each(self.get(data, "cuts", path), f"{path}.cuts", self.cut),
            leaves=self.each(
                self.get(data, "leaves", path), f"{path}.leaves", lambda v, p: self.leaf(v, p, known)
            ),
            day=self.day(data.get("day"), f"{path}.day"),
            buy=self.word(["rack", "buy"], data.get("source", "rack"), f"{path}.source") == "buy",
            habit=None
            if data.get("habit") is None
            else self.word([h.value for h in Habit], data["habit"], f"{path}.habit"),
        )
        beside = self.others(data, keys.SHEET_KEYS, path)
        if more := self.others(trim, keys.TRIM_KEYS, at):
            beside["trim"] = more
        if more := self.beside(f"{path}.cuts", (cut.piece for cut in layout.cuts)):
            beside["cuts"] = more
        if more := self.beside(f"{path}.leaves", (leaf.piece for leaf in layout.leaves)):
            beside["leaves"] = more
        return layout, beside

    def unplaced(self, data: Any, path: str) -> Unplaced:
        """One panel that is on no sheet."""
        self.keep(self.object(data, path), keys.UNPLACED_KEYS, path)
        return Unplaced(
            panel=self.text(self.get(data, "panel", path), f"{path}.panel"),
            rule=self.text(data.get("rule", ""), f"{path}.rule"),
            reason=self.text(data.get("reason", ""), f"{path}.reason", 2000),
        )

    def outcome(self, data: Any, path: str) -> GlassOutcome | None:
        """Bound and status of one glass, where the figures state them."""
        if "lower_bound" not in self.object(data, path):
            return None
        low, at = data["lower_bound"], f"{path}.lower_bound"
        status = self.word(["optimal", "feasible"], data.get("status"), f"{path}.status")
        return GlassOutcome(
            bound=Bound(
                cost=self.money(self.get(low, "cost", at), f"{at}.cost"),
                sheets=self.whole(self.get(low, "sheets", at), f"{at}.sheets"),
                by=self.text(low.get("by", ""), f"{at}.by"),
                valid_for=self.text(low.get("class", ""), f"{at}.class"),
            ),
            optimal=status == "optimal",
            stopped_by=self.text(data.get("stopped_by", ""), f"{path}.stopped_by"),
        )
