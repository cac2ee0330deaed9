"""Edges to be worked, panel by panel and setting by setting, in the order in which panels come off the table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from ..edgework import Work
from ..edging_line import BY_LINE, Beyond, beyond_the_line, edge_length
from ..panels import Panel
from ..shop_tanks import EdgingLine


class Machine(Enum):
    """Where an edge is worked; seams are made by hand or on a belt."""

    LINE = "edging line"
    BELT = "by hand or belt"
    HAND = "by hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeSetting:
    """What a machine is set to for an edge.

    Parameters
    ----------
    machine
        Where it is worked.
    work, allowance, mitre, small_face
        As in `Edge`. [nm, 1/1000 degree]
    thickness
        Nominal, of the glass. [nm]
    """

    machine: Machine
    work: Work
    thickness: int
    allowance: int
    mitre: int = 0
    small_face: str | None = None

    @property
    def place(self) -> tuple[int, int, int, int, int, str]:
        """The order of settings: by machine, finish and glass, so that the next one is near."""
        machine, work = list(Machine).index(self.machine), list(Work).index(self.work)
        return machine, work, self.thickness, self.mitre, self.allowance, self.small_face or ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeJob:
    """The edges of one panel that are worked with one setting.

    Parameters
    ----------
    setting
        Of the machine.
    panel
        The panel.
    edges
        Indexes in its finished outline.
    length
        Together. [nm]
    why
        The limits that keep them from the edging line.
    """

    setting: EdgeSetting
    panel: Panel
    edges: tuple[int, ...]
    length: int
    why: tuple[Beyond, ...] = ()


def edge_jobs(panel: Panel, line: EdgingLine) -> list[EdgeJob]:
    """What is to be done to the edges of a panel; edges that stay as cut are left out.

    Parameters
    ----------
    panel
        The panel.
    line
        Limits of the edging line; beyond them an edge goes by hand.
    """
    beyond = list(beyond_the_line(panel.finished, panel.edges, line))
    edges: dict[EdgeSetting, list[int]] = {}
    why: dict[EdgeSetting, list[Beyond]] = {}
    for i, edge in enumerate(panel.edges):
        if edge.work is Work.CUT:
            continue
        found = [b for b in beyond if b.edge in (None, i)] if edge.work in BY_LINE else []
        machine = Machine.HAND if found else Machine.LINE if edge.work in BY_LINE else Machine.BELT
        setting = EdgeSetting(
            machine=machine,
            work=edge.work,
            thickness=panel.thickness,
            allowance=edge.allowance,
            mitre=edge.mitre,
            small_face=edge.small_face,
        )
        edges.setdefault(setting, []).append(i)
        why.setdefault(setting, []).extend(found)
    return [
        EdgeJob(
            setting=setting,
            panel=panel,
            edges=tuple(mine),
            length=sum(edge_length(panel.finished, i) for i in mine),
            why=tuple(dict.fromkeys(why[setting])),
        )
        for setting, mine in edges.items()
    ]


def line_length(panels: Iterable[Panel], line: EdgingLine) -> int:
    """Length of the edges that these panels take to the edging line. [nm]"""
    return sum(
        job.length
        for panel in panels
        for job in edge_jobs(panel, line)
        if job.setting.machine is Machine.LINE
    )
