"""All drawings of a plan as files: one a sheet, one a panel, in every format wanted."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final, Literal

from panewright.io.dxf_drawing import dxf_bytes
from panewright.io.file_names import distinct_names, safe_name
from panewright.io.scene import Scene, panel_scene, sheet_scene
from panewright.io.svg_drawing import svg_text
from panewright.nesting.plan import Plan
from panewright.nesting.units import LengthUnit, style_for

DrawingFormat = Literal["dxf", "svg"]

FORMATS: Final[tuple[DrawingFormat, ...]] = ("dxf", "svg")


def drawing_files(
    plan: Plan,
    *,
    formats: Sequence[DrawingFormat] = FORMATS,
    sheets: bool | Collection[int] = True,
    panels: bool = True,
    unit: LengthUnit | None = None,
) -> Iterator[tuple[str, bytes]]:
    """The drawings of a plan, one after the other.

    Parameters
    ----------
    plan
        The plan.
    formats
        ``"dxf"``, ``"svg"`` or both.
    sheets
        All sheets, none, or those of these numbers.
    panels
        Whether to draw the panels that lie on these sheets; all of them where no sheet is drawn.
    unit
        Unit of the DXF coordinates and of all lengths written; default: that of the plan.

    Yields
    ------
    tuple
        File name, which bears the id of the plan, and content.
    """
    unit = unit or plan.length_unit
    style = style_for(unit)
    layouts = [
        layout for layout in plan.layouts if (sheets if isinstance(sheets, bool) else layout.number in sheets)
    ]
    stem = safe_name(plan.id)
    digits = max([2, *(len(str(layout.number)) for layout in plan.layouts)])
    for layout in layouts:
        name = f"{stem}-sheet-{layout.number:0{digits}d}"
        yield from _formats(name, sheet_scene(plan, layout, style=style), formats, unit)
    if not panels:
        return
    on_sheets = {leaf.panel for layout in layouts for leaf in layout.leaves if leaf.panel is not None}
    for panel, name in zip(plan.panels, panel_drawing_names(plan), strict=True):
        if sheets is False or panel.id in on_sheets:
            yield from _formats(name, panel_scene(plan, panel, style=style), formats, unit)


def panel_drawing_names(plan: Plan) -> list[str]:
    """Name of the drawing of each panel of the plan, without its ending.

    Names are settled over all panels, so that a panel keeps its file name whatever is drawn.
    """
    stem = safe_name(plan.id)
    return [f"{stem}-panel-{safe}" for safe in distinct_names(p.id for p in plan.panels)]


def _formats(
    name: str, scene: Scene, formats: Sequence[DrawingFormat], unit: LengthUnit
) -> Iterator[tuple[str, bytes]]:
    for wanted in FORMATS:
        if wanted in formats:
            content = dxf_bytes(scene, unit) if wanted == "dxf" else svg_text(scene).encode("utf-8")
            yield f"{name}.{wanted}", content
