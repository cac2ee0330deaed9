"""Where a panel came from, and all that came from a case, a sheet or an offcut, through offcuts and later plans."""

from __future__ import annotations

from dataclasses import replace

import pytest

from panewright.io.record_file import What
from panewright.io.store.commit import commit_plan
from panewright.io.store.errors import UnknownName
from panewright.io.store.ledger import Because
from panewright.io.store.spread import spread_of
from panewright.io.store.tracing import case_of, panels_like
from panewright.io.store.tracing_json import panel_json, spread_json
from panewright.nesting.happened import AtStep
from panewright.nesting.plan_id import plan_id


def test_a_panel_is_traced_back_to_its_case_and_a_case_to_all_its_panels(table):
    table.tell(
        table.cut(1, who="Ada"),
        table.event(What.OFFCUT_KEPT, sheet=1, offcut=table.small),
        table.event(
            What.PANEL_BROKEN, sheet=1, panel="K-1/front/1", at_step=AtStep.EDGING, who="Bo", note="corner"
        ),
    )
    table.tell(table.cut(1, who="Cy"), plan=table.second)
    with table.store.reading() as c:
        (lid,) = panels_like(c, "K-9/lid/1")
        steps = [(o.plan, o.number, o.state.value, o.cut_by, o.item.name) for o in lid.origins]
        assert steps == [
            (table.second.id, 1, "cut", "Cy", table.small),
            (table.first.id, 1, "cut", "Ada", "C-1"),
        ]
        assert [trace.panel for trace in panels_like(c, "K-2")] == [
            f"K-2/{n}/1" for n in ("back", "front", "side")
        ]
        (front,) = panels_like(c, "1/front")
        assert [(e.at_step, e.who, e.note) for e in front.broken] == [(AtStep.EDGING, "Bo", "corner")]
        assert panel_json(front)["origins"][0]["from"]["supplier"] == "Float Ltd"
        for name in ("C-1", f"{table.first.id}.1"):
            batch = spread_of(c, name)
            own = {p.panel for p in batch.panels if p.sheet == 1}
            assert own == {"K-1/front/1", "K-1/back/1", "K-1/side/1", "K-9/lid/1"}
        assert spread_json(batch)["name"] == f"{table.first.id}.1"
        assert {one.name for one in batch.items} == {table.small, table.big}
        whole = spread_of(c, "C-1")
        assert len(whole.panels) == 7 and {p.panel for p in whole.panels if not p.cut} == {
            "K-2/front/1", "K-2/back/1", "K-2/side/1",
        }  # fmt: skip
        assert [p.panel for p in whole.panels if p.broken] == ["K-1/front/1"]
        assert [p.panel for p in spread_of(c, table.small).panels] == ["K-9/lid/1"]
        assert not spread_of(c, "C-2").panels
        for nothing in ("K-77", "50%", "ZZZZ-ZZZZ.1"):
            with pytest.raises(UnknownName):
                panels_like(c, nothing)
            with pytest.raises(UnknownName):
                spread_of(c, nothing)


def test_a_sheet_of_a_line_of_plans_is_shown_once_with_what_was_made_again(table):
    """The second plan makes a broken panel again on its own sheet, from a sheet that is no good as it is."""
    table.tell(table.cut(1), table.event(What.SHEET_FLAWED, sheet=2, id="f"))
    piece = f"{table.first.id}.2.f"
    again = replace(table.first.panel("K-1/front/1"), id="K-1/front/1r1")
    old = table.first.layouts[1]
    leaves = tuple(
        replace(leaf, panel=again.id) if leaf.panel == "K-2/front/1" else leaf for leaf in old.leaves
    )
    fresh = replace(old, number=3, stock=piece, is_offcut=True, leaves=leaves)
    layouts = (table.first.layouts[0], fresh)
    told = {
        again.id: {"remakes": "K-1/front/1", "given_to": "K-2/front/1"},
        "K-2/front/1": {"remakes": "K-1/front/1"},
    }
    later = replace(
        table.first, id=plan_id(1, layouts), seed=1, layouts=layouts, panels=(*table.first.panels, again),
        extra={"follows": [table.first.id], "panels": told},
    )  # fmt: skip
    with table.store.writing() as c:
        commit_plan(c, later, Because(at=table.cut(0).at, who="desk"))
    table.tell(table.cut(3), plan=later)
    with table.store.reading() as c:
        (front,) = panels_like(c, "K-1/front/1")
        assert front.plan == later.id and front.remade_as == ("K-1/front/1r1", "K-2/front/1")
        (made,) = panels_like(c, "K-1/front/1r1")
        assert made.remakes == ("K-1/front/1",) and made.given_to == "K-2/front/1"
        assert [o.item.name for o in made.origins] == [piece] and case_of(c, piece) == "C-1"
        assert case_of(c, "C-1") is None
        batch = spread_of(c, "C-1")
        keys = [(later.id, 1), (later.id, 3), (table.second.id, 1)]
        assert sorted({(p.plan, p.sheet) for p in batch.panels}) == sorted(keys)
        assert len({p.panel for p in batch.panels}) == len(batch.panels) == 7
        assert piece in {one.name for one in batch.items}
