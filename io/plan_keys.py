"""The keys of a plan file that this version knows; readers keep all others as they are."""

from __future__ import annotations

from typing import Final


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


PLAN_KEYS: Final = _words(
    "schema plan program seed effort habit length_unit currency rules panels sheets unplaced figures"
)
RULE_KEYS: Final = _words(
    "break_out levels last_cut longest_cut largest_piece level1_gap least_offcut corner_depth least_angle "
    "longest_angled_cut mark_step inner_radius level1_width level2_width least_waste deepest_once"
)
PANEL_KEYS: Final = _words(
    "id order name due purpose glass thickness mass_kg finished cut edges openings narrow turn mirror "
    "from_stock note tips booked product rack slot tolerates"
)
TIP_KEYS: Final = _words("corner reach")
EDGE_KEYS: Final = _words("work allowance mitre small_face")
HOLE_KEYS: Final = _words("kind center diameter")
CUT_OUT_KEYS: Final = _words("kind outline corner_radius")
SHEET_KEYS: Final = _words(
    "number day glass stock is_offcut source habit cost width height raw trim flaws flaw_kinds spots take cuts "
    "leaves"
)
TRIM_KEYS: Final = _words("left right bottom top")
CUT_KEYS: Final = _words("step piece from to makes kind level placement")
LEAF_KEYS: Final = _words("piece outline is panel turned mirrored offcut raw")
UNPLACED_KEYS: Final = _words("panel rule reason")

FIGURES_KEYS: Final = _words("total by_glass by_order")
TOTAL_KEYS: Final = _words(
    "sheets sheet_area_m2 cut_area_m2 finished_area_m2 trim_area_m2 spare_area_m2 filler_area_m2 "
    "offcut_area_m2 cullet_area_m2 yield net_yield finished_yield scrap_kg cost"
)
GLASS_KEYS: Final = TOTAL_KEYS | _words("lower_bound gap status stopped_by")
BOUND_KEYS: Final = _words("cost sheets by class")
ORDER_KEYS: Final = _words("cut_area_m2 finished_area_m2 waste_share_m2 cost_share")
