"""Holes, cut-outs and pockets to be made after cutting, tool by tool."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from ..openings import Hole
from ..panels import Panel
from ..pockets import pockets


class Tool(Enum):
    """What makes openings that no score can; the value is passed through `tr` when it is shown."""

    DRILL = "drill"
    JET = "water jet or saw"
    POCKET = "saw, drill or water jet"


@dataclass(frozen=True, slots=True)
class ToolJob:
    """What one tool does to a panel.

    Parameters
    ----------
    tool
        The tool.
    panel
        The panel.
    which
        Indexes of its openings; of its pockets with `Tool.POCKET`.
    """

    tool: Tool
    panel: Panel
    which: tuple[int, ...]


def tool_jobs(panel: Panel) -> list[ToolJob]:
    """Holes, cut-outs and pockets of a panel, a job for each tool that has something to do."""
    holes = tuple(i for i, one in enumerate(panel.openings) if isinstance(one, Hole))
    others = tuple(i for i in range(len(panel.openings)) if i not in holes)
    left = tuple(range(len(pockets(panel.finished, panel.cut))))
    found = ((Tool.DRILL, holes), (Tool.JET, others), (Tool.POCKET, left))
    return [ToolJob(tool, panel, which) for tool, which in found if which]
