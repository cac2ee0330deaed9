"""Edges and openings of a day: limits of the edging line to the nanometre, settings, metres, tools."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from math import isqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.nesting.day.edging import Machine, edge_jobs, line_length
from panewright.nesting.day.tooling import Tool, tool_jobs
from panewright.nesting.edgework import Edge, Work
from panewright.nesting.edging_line import Limit, beyond_the_line, edge_length
from panewright.nesting.figures import figures_of
from panewright.nesting.openings import Hole, slot
from panewright.nesting.outlines import make_outline, rectangle
from panewright.nesting.shop_tanks import EdgingLine
from panewright.nesting.units import mm

LINE = EdgingLine()
POLISHED = Edge(work=Work.POLISHED, allowance=mm("1.5"))


def limits(width, height, edges, line=LINE):
    return [(found.limit, found.edge) for found in beyond_the_line(rectangle(width, height), edges, line)]


@pytest.mark.parametrize(("more", "found"), [(0, []), (1, [(Limit.LENGTH, 0), (Limit.LENGTH, 2)])])
def test_the_longest_edge_is_taken_to_the_nanometre(more, found):
    assert limits(LINE.greatest_length + more, mm(300), [POLISHED, Edge(), POLISHED, Edge()]) == found


@pytest.mark.parametrize(("more", "found"), [(0, []), (1, [(Limit.HEIGHT, 0)])])
def test_the_greatest_height_stands_square_to_the_edge_that_is_worked(more, found):
    height = LINE.greatest_height + more
    assert limits(mm(300), height, [POLISHED, Edge(), Edge(), Edge()]) == found
    # lying on its other side it is not high
    assert limits(mm(300), height, [Edge(), POLISHED, Edge(), Edge()]) == []


@pytest.mark.parametrize(("less", "found"), [(0, []), (1, [(Limit.WIDTH, None)])])
def test_a_panel_narrower_than_the_line_takes_goes_by_hand(less, found):
    assert limits(mm(500), LINE.least_width - less, [POLISHED] * 4) == found
    # as cut and seamed edges never see the line
    assert limits(mm(500), LINE.least_width - less, [Edge(), Edge(work=Work.SEAMED)] * 2) == []


def test_a_steep_mitre_goes_by_hand_and_the_other_edges_to_the_line(make_panel):
    steep = Edge(work=Work.MITRE, allowance=mm(3), mitre=LINE.greatest_mitre + 1, small_face="down")
    right = replace(steep, mitre=LINE.greatest_mitre)
    panel = replace(make_panel(600, 400), edges=(POLISHED, steep, Edge(), right))
    found = {job.setting.machine: job for job in edge_jobs(panel, LINE) if job.setting.work is Work.MITRE}
    assert found[Machine.HAND].edges == (1,)
    assert [b.limit for b in found[Machine.HAND].why] == [Limit.MITRE]
    assert found[Machine.LINE].edges == (3,)
    assert line_length([panel], LINE) == mm(600 + 400)


def test_a_slanted_edge_counts_its_length_and_its_height(make_panel):
    # legs 900 and 1200: the slanted edge is 1500 (3-4-5), the corner stands 720 over it
    triangle = make_outline([(0, 0), (mm(1200), 0), (0, mm(900))])
    panel = make_panel(outline=triangle)
    assert [edge_length(triangle, i) for i in range(3)] == [mm(1200), mm(1500), mm(900)]
    line = EdgingLine(greatest_height=mm(720), greatest_length=mm(1500))
    found = [b for b in beyond_the_line(triangle, panel.edges, line) if b.edge == 1]
    assert found == []
    lower = replace(line, greatest_height=mm(720) - 1)
    (height,) = [b for b in beyond_the_line(triangle, panel.edges, lower) if b.edge == 1]
    assert (height.limit, height.value) == (Limit.HEIGHT, mm(720))


edges = st.builds(
    Edge,
    work=st.sampled_from(list(Work)),
    allowance=st.sampled_from([0, mm(1), mm("1.5")]),
    mitre=st.sampled_from([0, 22_500, 45_000, 60_000]),
)


@given(
    corners=st.lists(
        st.tuples(st.integers(40, 5000), st.integers(40, 3000), st.lists(edges, min_size=4, max_size=4)),
        min_size=1,
        max_size=4,
    )
)
def test_every_edge_that_is_worked_is_in_one_job_and_the_metres_add_up(corners, make_panel):
    panels = [
        replace(make_panel(width, height, id=f"A/p/{i}"), edges=tuple(mine))
        for i, (width, height, mine) in enumerate(corners)
    ]
    lengths: Counter[Work] = Counter()
    for panel in panels:
        jobs = edge_jobs(panel, LINE)
        assert sorted(i for job in jobs for i in job.edges) == [
            i for i, edge in enumerate(panel.edges) if edge.work is not Work.CUT
        ]
        for job in jobs:
            lengths[job.setting.work] += job.length
            assert bool(job.why) == (job.setting.machine is Machine.HAND)
            assert (job.setting.machine is Machine.BELT) == (job.setting.work is Work.SEAMED)
    by_hand: Counter[Work] = Counter()
    for panel in panels:
        n = len(panel.finished)
        for i, edge in enumerate(panel.edges):
            (ax, ay), (bx, by) = panel.finished[i], panel.finished[(i + 1) % n]
            by_hand[edge.work] += isqrt((bx - ax) ** 2 + (by - ay) ** 2)
    del by_hand[Work.CUT]
    assert lengths == by_hand


def test_the_metres_are_those_of_the_figures(hand_plan, pentagon_plan, octagon_plan):
    for plan in (hand_plan, pentagon_plan, octagon_plan):
        jobs = [job for panel in plan.panels for job in edge_jobs(panel, LINE)]
        found: Counter[str] = Counter()
        for job in jobs:
            found[job.setting.work.value] += job.length
        assert found == figures_of(plan).total.edgework_nm


def test_holes_cut_outs_and_pockets_go_to_their_tools(make_panel):
    hole = Hole(center=(mm(100), mm(100)), diameter=mm(35))
    notch = slot(mm(200), mm(200), mm(100), mm(25), mm(5))
    panel = replace(make_panel(600, 400), openings=(hole, notch, replace(hole, center=(mm(500), mm(100)))))
    assert [(job.tool, job.which) for job in tool_jobs(panel)] == [(Tool.DRILL, (0, 2)), (Tool.JET, (1,))]
    bent = make_outline(
        [(0, 0), (mm(600), 0), (mm(600), mm(300)), (mm(300), mm(300)), (mm(300), mm(600)), (0, mm(600))]
    )
    hull = make_outline([(0, 0), (mm(600), 0), (mm(600), mm(300)), (mm(300), mm(600)), (0, mm(600))])
    shaped = replace(make_panel(600, 600), finished=bent, cut=hull, edges=(Edge(),) * 6)
    assert [(job.tool, job.which) for job in tool_jobs(shaped)] == [(Tool.POCKET, (0,))]
    assert tool_jobs(make_panel(600, 400)) == []
