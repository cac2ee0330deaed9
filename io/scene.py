"""One scene model for all drawings, and the two drawings that are made of it.

Every format draws the same scene, so that no two of them disagree. The parts are in `scene_model`,
the sheet is drawn in `sheet_scene`, the panel in `panel_scene`.
"""

from panewright.io.panel_scene import edge_words, panel_scene
from panewright.io.scene_model import Circle, Line, Polyline, Primitive, Scene, Sketch, Text, Tint, text_width
from panewright.io.sheet_scene import sheet_scene
from panewright.nesting.placing import placed

__all__ = [
    "Circle",
    "Line",
    "Polyline",
    "Primitive",
    "Scene",
    "Sketch",
    "Text",
    "Tint",
    "edge_words",
    "panel_scene",
    "placed",
    "sheet_scene",
    "text_width",
]
