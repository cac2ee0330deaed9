"""The out folder: all or nothing, nobody else's file touched, never over glass already cut."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panewright.io import out_folder
from panewright.io.file_names import PLAN_FILE, is_safe_name
from panewright.io.held_plan import HeldPlan
from panewright.io.out_folder import OutFolder, OutFolderRefused, UnsafeName, check_folder

FIRST, SECOND = "Q7K2-9DMX", "0000-1111"


def plan_text(plan_id: str, **more: object) -> str:
    return json.dumps({"schema": "panewright.plan/1", "plan": plan_id, **more})


def write(folder: Path, plan_id: str, *, replace: bool = False, extra: str = "steps") -> None:
    with OutFolder(folder, plan_id=plan_id, replace=replace) as out:
        out.write(PLAN_FILE, plan_text(plan_id))
        out.write(f"{extra}-{plan_id}.csv", "a;b\r\n")


def snapshot(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def record(plan_id: str, *events: dict[str, object]) -> str:
    return json.dumps({"schema": "panewright.record/1", "plan": plan_id, "device": "t", "events": events})


CUT = {"id": "e1", "what": "sheet cut", "sheet": 2}
UNDONE = {"id": "e2", "what": "undone", "undoes": "e1"}


def test_new_folder_holds_the_files_and_their_list(tmp_path: Path) -> None:
    write(tmp_path / "a" / "b", FIRST)
    assert sorted(snapshot(tmp_path)) == [
        f"a/b/contents-{FIRST}.json",
        "a/b/plan.json",
        f"a/b/steps-{FIRST}.csv",
    ]
    assert (tmp_path / "a" / "b" / f"steps-{FIRST}.csv").read_bytes() == b"a;b\r\n"


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt, SystemExit])
def test_exception_in_the_middle_leaves_no_trace(tmp_path: Path, error: type[BaseException]) -> None:
    def broken() -> None:
        with OutFolder(tmp_path / "a" / "b", plan_id=FIRST) as out:
            out.write(PLAN_FILE, plan_text(FIRST))
            raise error

    with pytest.raises(error):
        broken()
    assert list(tmp_path.iterdir()) == []


def test_exception_over_a_held_plan_leaves_it_as_it_was(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    before = snapshot(tmp_path)

    def broken() -> None:
        with OutFolder(target, plan_id=SECOND, replace=True) as out:
            out.write(PLAN_FILE, plan_text(SECOND))
            raise ValueError

    with pytest.raises(ValueError):
        broken()
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize("plan_id", [FIRST, SECOND])
@pytest.mark.parametrize("fails_at", range(3))
def test_failure_while_moving_in_takes_everything_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails_at: int, plan_id: str
) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    before = snapshot(tmp_path)
    move, calls = out_folder.move, iter(range(100))

    def fail(source: Path, to: Path) -> None:
        # counts the moves of new files; those set aside pass
        if to.parent == target and source.parent.name != "aside" and next(calls) == fails_at:
            raise OSError(28, "No space left on device")
        move(source, to)

    monkeypatch.setattr(out_folder, "move", fail)
    with (
        pytest.raises(OutFolderRefused, match="No space left"),
        OutFolder(target, plan_id=plan_id, replace=True) as out,
    ):
        out.write(PLAN_FILE, plan_text(plan_id, other=1))
        out.write(f"steps-{plan_id}.csv", "changed")
    assert snapshot(tmp_path) == before


def test_second_run_of_the_same_plan_is_taken(tmp_path: Path) -> None:
    write(tmp_path / "out", FIRST)
    before = snapshot(tmp_path)
    write(tmp_path / "out", FIRST)
    assert snapshot(tmp_path) == before


def test_another_plan_needs_replace_and_foreign_files_stay(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    (target / "notes.txt").write_text("mine", encoding="utf-8")
    (target / f"remarks on {FIRST}.txt").write_text("mine too", encoding="utf-8")
    with pytest.raises(OutFolderRefused, match=rf"another plan, {FIRST}.*--replace"):
        write(target, SECOND)
    write(target, SECOND, replace=True)
    assert sorted(snapshot(target)) == sorted(
        [
            f"contents-{SECOND}.json",
            "notes.txt",
            "plan.json",
            f"remarks on {FIRST}.txt",
            f"steps-{SECOND}.csv",
        ]
    )
    assert json.loads((target / PLAN_FILE).read_text(encoding="utf-8"))["plan"] == SECOND


def test_without_a_list_the_old_id_tells_our_files(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    (target / f"contents-{FIRST}.json").unlink()
    write(target, SECOND, replace=True)
    assert f"steps-{FIRST}.csv" not in snapshot(target)


def test_a_forged_list_removes_nothing_outside_and_no_record(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    outside = tmp_path / f"x-{FIRST}.txt"
    outside.write_text("keep", encoding="utf-8")
    kept = target / f"day-{FIRST}.record.json"
    kept.write_text(record(FIRST, CUT, UNDONE), encoding="utf-8")
    forged = {
        "schema": "panewright.contents/1",
        "plan": FIRST,
        "files": [{"name": f"../x-{FIRST}.txt"}, {"name": kept.name}, {"name": 7}, "x"],
    }
    (target / f"contents-{FIRST}.json").write_text(json.dumps(forged), encoding="utf-8")
    write(target, SECOND, replace=True)
    assert outside.exists()
    assert kept.exists()


@pytest.mark.parametrize("plan_id", [FIRST, SECOND])
def test_a_plan_with_a_cut_sheet_is_never_written_over(tmp_path: Path, plan_id: str) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    (target / "table 2.record.json").write_text(record(FIRST, CUT), encoding="utf-8")
    with pytest.raises(OutFolderRefused, match="recorded as cut"):
        write(target, plan_id, replace=True)


@pytest.mark.parametrize(
    ("events", "cut"),
    [
        ([CUT], (2,)),
        ([CUT, UNDONE], ()),
        ([UNDONE, CUT], ()),
        ([CUT, UNDONE, {"id": "e3", "what": "undone", "undoes": "e2"}], (2,)),
        ([CUT, {"id": "e2", "what": "undone", "undoes": "e3"}, {**UNDONE, "id": "e3", "undoes": "e2"}], (2,)),
        ([CUT, CUT, {**CUT, "id": "e9", "sheet": 1}], (1, 2)),
        ([{"id": "e1", "what": "panel broken", "sheet": 2}], ()),
        ([{"what": "sheet cut"}], (0,)),
    ],
)
def test_undone_events_do_not_count(
    tmp_path: Path, events: list[dict[str, object]], cut: tuple[int, ...]
) -> None:
    (tmp_path / PLAN_FILE).write_text(plan_text(FIRST), encoding="utf-8")
    (tmp_path / "a.record.json").write_text(record(FIRST, *events), encoding="utf-8")
    assert HeldPlan.look(tmp_path).cut_sheets == cut


def test_a_long_chain_of_undoing_is_followed(tmp_path: Path) -> None:
    chain = [{"id": f"e{i}", "what": "undone", "undoes": f"e{i - 1}"} for i in range(2, 5002)]
    (tmp_path / PLAN_FILE).write_text(plan_text(FIRST), encoding="utf-8")
    (tmp_path / "a.record.json").write_text(record(FIRST, CUT, *chain), encoding="utf-8")
    assert HeldPlan.look(tmp_path).cut_sheets == (2,)


def test_records_of_another_plan_do_not_count_but_those_of_its_line_do(tmp_path: Path) -> None:
    (tmp_path / "a.record.json").write_text(record(SECOND, CUT), encoding="utf-8")
    (tmp_path / PLAN_FILE).write_text(plan_text(FIRST), encoding="utf-8")
    assert HeldPlan.look(tmp_path).cut_sheets == ()
    (tmp_path / PLAN_FILE).write_text(plan_text(FIRST, follows=SECOND), encoding="utf-8")
    assert HeldPlan.look(tmp_path).cut_sheets == (2,)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"schema": "panewright.record/1", "events": [1]}'])
def test_an_unreadable_record_beside_a_plan_refuses(tmp_path: Path, text: str) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    (target / "x.record.json").write_text(text, encoding="utf-8")
    with pytest.raises(OutFolderRefused, match="not known what has been cut"):
        write(target, SECOND, replace=True)


def test_foreign_folder_needs_replace(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("x", encoding="utf-8")
    with pytest.raises(OutFolderRefused, match=r"holds other files \(letter.txt\)"):
        write(tmp_path, FIRST)
    write(tmp_path, FIRST, replace=True)
    assert {"letter.txt", PLAN_FILE} <= set(snapshot(tmp_path))


def test_empty_folder_and_file_manager_noise_are_taken(tmp_path: Path) -> None:
    (tmp_path / ".DS_Store").write_bytes(b"")
    write(tmp_path, FIRST)
    assert (tmp_path / PLAN_FILE).exists()


@pytest.mark.parametrize("text", ["not json", '{"schema": "other"}', '{"schema": "panewright.plan/1"}', "[]"])
def test_a_foreign_plan_file_is_never_replaced(tmp_path: Path, text: str) -> None:
    (tmp_path / PLAN_FILE).write_text(text, encoding="utf-8")
    with pytest.raises(OutFolderRefused, match="no plan file"):
        write(tmp_path, FIRST, replace=True)


def test_a_file_of_somebody_else_in_the_way_refuses(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    (target / f"steps-{SECOND}.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(OutFolderRefused, match="somebody else"):
        write(target, SECOND, replace=True)
    assert (target / f"steps-{SECOND}.csv").read_text(encoding="utf-8") == "mine"


def test_target_that_is_a_file_or_below_one_refuses(tmp_path: Path) -> None:
    (tmp_path / "f").write_text("x", encoding="utf-8")
    with pytest.raises(OutFolderRefused, match="it is a file"):
        write(tmp_path / "f", FIRST)
    with pytest.raises(OutFolderRefused, match="is no folder"):
        write(tmp_path / "f" / "g", FIRST)


def test_target_that_is_a_link_refuses(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    try:
        (tmp_path / "link").symlink_to(tmp_path / "real", target_is_directory=True)
    except OSError as error:
        pytest.skip(f"no links here: {error}")
    with pytest.raises(OutFolderRefused, match="it is a link"):
        write(tmp_path / "link", FIRST)


def test_unwritable_folder_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "out").mkdir()
    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    with pytest.raises(OutFolderRefused, match="cannot be written"):
        check_folder(tmp_path / "out", plan_id=None, replace=True)
    with pytest.raises(OutFolderRefused, match="cannot be written"):
        check_folder(tmp_path / "new", plan_id=None, replace=True)


def test_before_the_plan_is_known_only_what_is_certain_is_refused(tmp_path: Path) -> None:
    write(tmp_path / "out", FIRST)
    check_folder(tmp_path / "out", plan_id=None, replace=False)
    (tmp_path / "out" / "a.record.json").write_text(record(FIRST, CUT), encoding="utf-8")
    with pytest.raises(OutFolderRefused):
        check_folder(tmp_path / "out", plan_id=None, replace=False)


def test_a_sheet_cut_while_the_search_runs_is_seen_at_the_end(tmp_path: Path) -> None:
    target = tmp_path / "out"
    write(target, FIRST)
    with (
        pytest.raises(OutFolderRefused, match="recorded as cut"),
        OutFolder(target, plan_id=SECOND, replace=True) as out,
    ):
        out.write(PLAN_FILE, plan_text(SECOND))
        (target / "a.record.json").write_text(record(FIRST, CUT), encoding="utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize(
    "name",
    [
        "../plan.json",
        "a/b-Q7K2-9DMX",
        "..",
        "",
        "CON-Q7K2-9DMX/..",
        "nul.Q7K2-9DMX",
        "a:Q7K2-9DMX",
        "Q7K2-9DMX.",
        ".Q7K2-9DMX",
        "steps.csv",
        "é-Q7K2-9DMX",
        "Q7K2-9DMX\n",
        "Q7K2-9DMX" * 20,
    ],
)
def test_unsafe_names_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(UnsafeName), OutFolder(tmp_path / "o", plan_id=FIRST) as out:
        out.write(name, "x")
    assert list(tmp_path.iterdir()) == []


def test_names_that_differ_by_case_alone_are_refused(tmp_path: Path) -> None:
    with pytest.raises(UnsafeName), OutFolder(tmp_path / "o", plan_id=FIRST) as out:
        out.write(f"a-{FIRST}.svg", "x")
        out.write(f"A-{FIRST}.svg", "x")


@given(st.text(max_size=30))
def test_a_safe_name_is_one_plain_part(name: str) -> None:
    if is_safe_name(name):
        assert Path(name).name == name
        assert name.isascii()
        assert not set(name) & set('<>:"/\\|?*')


def test_a_block_without_a_plan_file_writes_nothing(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError), OutFolder(tmp_path / "o", plan_id=FIRST) as out:
        out.write(f"a-{FIRST}.svg", "x")
    assert list(tmp_path.iterdir()) == []
