"""The command line frame: light help, helpful refusals, exit codes, streams."""

from __future__ import annotations

import contextvars
import os
import signal
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from panewright.cli import failures, main
from panewright.cli.failures import Exit, Failure, guard
from panewright.nesting.errors import InvalidRule, PlanFault

HEAVY = {"numpy", "numba", "ezdxf", "openpyxl", "rich", "shapely", "ortools", "rectpack", "pandas", "scipy"}


@pytest.mark.parametrize("args", [["--help"], ["--version"], ["-h"], ["plan", "--help"], ["demo", "--help"]])
def test_help_imports_nothing_heavy(args: list[str]) -> None:
    code = (
        "import sys\n"
        "from panewright.cli.main import app\n"
        f"try:\n    app.main({args!r})\n"
        "except SystemExit as end:\n    assert not end.code, end.code\n"
        "print('|'.join(sorted({name.split('.')[0] for name in sys.modules})), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], check=False, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout
    loaded = set(done.stderr.strip().splitlines()[-1].split("|"))
    assert "click" in loaded
    assert not loaded & HEAVY


def test_every_command_has_help_with_an_example() -> None:
    for name in main.COMMANDS:
        shown = CliRunner().invoke(main.app, [name, "--help"])
        assert shown.exit_code == 0, shown.output
        texts = [shown.output]
        command = main.app.get_command(click.Context(main.app), name)
        if isinstance(command, click.Group):
            for sub in command.commands:
                below = CliRunner().invoke(main.app, [name, sub, "--help"])
                assert below.exit_code == 0, below.output
                texts.append(below.output)
        assert any(
            f"panewright {name}" in text.split("Example", 1)[-1] for text in texts if "Example" in text
        )


def test_every_option_has_help() -> None:
    def options_of(command: click.Command) -> list[click.Option]:
        found = [p for p in command.params if isinstance(p, click.Option)]
        for below in getattr(command, "commands", {}).values():
            found += options_of(below)
        return found

    for name in main.COMMANDS:
        command = main.app.get_command(click.Context(main.app), name)
        assert command is not None
        for option in options_of(command):
            assert option.help, (name, option.name)


def test_help_lists_every_command_with_its_line() -> None:
    shown = CliRunner().invoke(main.app, ["--help"])
    assert shown.exit_code == 0
    for name, (_, line) in main.COMMANDS.items():
        assert name in shown.output
        assert line.split(",")[0].split(";")[0][:40] in shown.output


def test_version_is_that_of_the_package() -> None:
    shown = CliRunner().invoke(main.app, ["--version"])
    assert shown.stdout.strip() == failures.program()
    assert shown.stdout.startswith("panewright 0.")


@pytest.mark.parametrize(("typed", "meant"), [("plna", "plan"), ("PLAN", "plan"), ("demmo", "demo")])
def test_unknown_command_suggests_the_nearest(typed: str, meant: str) -> None:
    shown = CliRunner().invoke(main.app, [typed])
    assert shown.exit_code == Exit.USAGE
    assert f"did you mean {meant}?" in shown.stderr
    assert shown.stdout == ""


def test_unknown_command_like_no_other_lists_all() -> None:
    shown = CliRunner().invoke(main.app, ["xyzzy"])
    assert shown.exit_code == Exit.USAGE
    assert "demo, shop, orders, panels, plan" in shown.stderr


def test_wrong_option_is_a_usage_error() -> None:
    shown = CliRunner().invoke(main.app, ["plan", "--bogus"])
    assert shown.exit_code == Exit.USAGE
    assert "Read on with: panewright plan --help" in shown.stderr


def raiser(error: BaseException) -> object:
    def call() -> object:
        raise error

    return call


@pytest.mark.parametrize(
    ("error", "code", "says"),
    [
        (Failure("said", Exit.LEFT_OVER), 1, "said"),
        (click.UsageError("bad call"), 2, "bad call"),
        (click.BadParameter("bad value"), 2, "bad value"),
        (InvalidRule("levels", "9", "2"), 3, "levels is 9"),
        (FileNotFoundError(2, "No such file", "a.csv"), 3, "a.csv: No such file"),
        (PlanFault(("sheet 1: overlap",)), 4, "sheet 1: overlap"),
        (ZeroDivisionError("boom"), 4, "ZeroDivisionError: boom"),
        (RecursionError("deep"), 4, "internal fault"),
        (KeyboardInterrupt(), 130, "interrupted"),
        (click.Abort(), 130, "interrupted"),
        (BrokenPipeError(32, "Broken pipe"), 0, ""),
    ],
)
def test_every_error_has_its_code_and_no_traceback(
    error: BaseException, code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert guard(raiser(error)) == code
    shown = capsys.readouterr()
    assert says in shown.err
    assert "Traceback" not in shown.err
    assert shown.out == ""


def test_debug_shows_the_trace(capsys: pytest.CaptureFixture[str]) -> None:
    assert guard(raiser(ZeroDivisionError("boom")), debug=lambda: True) == Exit.FAULT
    assert "Traceback" in capsys.readouterr().err


def test_a_ctrl_c_that_compiled_code_turns_into_an_error_is_still_one(capsys):
    def interrupted():
        try:
            raise KeyboardInterrupt
        except KeyboardInterrupt as cause:
            raise SystemError("returned a result with an exception set") from cause

    assert guard(interrupted) == Exit.INTERRUPTED
    assert "interrupted" in capsys.readouterr().err
    assert guard(raiser(SystemError("boom"))) == Exit.FAULT


def test_debug_option_reaches_every_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(main.COMMANDS, "broken", ("panewright.cli.no_such_module", "x"))
    quiet = CliRunner().invoke(main.app, ["broken"])
    assert quiet.exit_code == Exit.FAULT
    assert "Traceback" not in quiet.stderr
    loud = CliRunner().invoke(main.app, ["--debug", "broken"])
    assert loud.exit_code == Exit.FAULT
    assert "Traceback" in loud.stderr


def test_a_fault_report_names_our_code_but_no_path() -> None:
    with pytest.raises(AttributeError) as caught:
        main.app.format_commands(click.Context(main.app), None)  # type: ignore[arg-type]
    text = failures.fault_report(caught.value)
    assert "main:" in text
    assert "AttributeError" in text
    assert failures.program() in text
    assert os.sep not in text


def test_messages_go_to_stderr_and_text_survives_any_encoding() -> None:
    code = (
        "from panewright.cli import output\n"
        "output.prepare_streams()\n"
        "output.out('≤ 10 mm \\udcff')\n"
        "output.err('≥')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        check=False,
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "latin-1"},
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == [b"?", b"10", b"mm", b"?"]
    assert done.stderr.strip() == b"?"


@pytest.mark.skipif(sys.platform == "win32", reason="a shell pipe")
def test_a_closed_pipe_is_no_error() -> None:
    done = subprocess.run(
        f'"{sys.executable}" -m panewright.cli.main --help; echo "code $?" >&2',
        shell=True,
        check=False,
        stdout=_closed_pipe(),
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    assert done.stderr.strip() == "code 0"


def _closed_pipe() -> int:
    reader, writer = os.pipe()
    os.close(reader)
    return writer


def test_interrupt_asks_first_and_stops_second() -> None:
    from panewright.cli.searching import Interrupt

    before = signal.getsignal(signal.SIGINT)
    with Interrupt() as interrupt:
        signal.raise_signal(signal.SIGINT)
        assert interrupt.asked
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.parametrize("seconds", ["nan", "-1", "inf", "1e9", "x"])
def test_seconds_that_the_clock_never_reaches_are_refused(seconds: str) -> None:
    shown = invoke("plan", "no.csv", "--out", "nowhere", "--seconds", seconds)
    assert shown.exit_code == Exit.USAGE
    assert "--seconds" in shown.stderr


def invoke(*args: str) -> Result:
    # the shop's way to show lengths must not reach other tests
    return contextvars.copy_context().run(CliRunner().invoke, main.app, args)


def test_the_cut_sequence_shows_on_the_screen(short_demo: tuple[Path, Result]) -> None:
    """`--steps`, at the end of a run and from a plan file alone, gives the same tables."""
    folder, run = short_demo
    said = run.stdout
    again = invoke("check", str(folder), "--steps")
    assert again.exit_code == 0, again.output
    lines = [line for line in again.stdout.splitlines()[:-1] if line.strip()]
    tables = [line for line in lines if not line.startswith("WARNING")]
    assert len(tables) > 100
    assert set(tables) <= set(said.splitlines())


def test_waste_by_sheet_and_order_shows_on_the_screen(short_demo: tuple[Path, Result]) -> None:
    from panewright.io.plan_file import loads
    from panewright.nesting.figures import figures_of

    folder, run = short_demo
    said = run.stdout
    plan = loads((folder / "plan.json").read_text(encoding="utf-8"))
    again = invoke("check", str(folder), "--waste")
    assert again.exit_code == 0, again.output
    tables = again.stdout.split("Waste by ")
    assert len(tables) == 4
    for text, rows in zip(tables[1:], (plan.layouts, plan.rules, figures_of(plan).by_order), strict=True):
        assert text in said or text.rsplit("\n\n", 1)[0] in said
        assert sum(1 for line in text.splitlines() if line.strip()) >= len(rows) + 3


def test_no_column_of_a_wide_table_is_cut_off() -> None:
    from panewright.cli.tables import PIPE_WIDTH, table

    headings = [f"heading number {i}" for i in range(9)]
    cells = [f"cell-{i}-of-thirty-characters--" for i in range(8)]
    text = table("", headings, [[*cells, ""]], left=9)
    assert all(len(line) > PIPE_WIDTH for line in text.splitlines() if "cell-0" in line)
    assert [text.count(cell) for cell in cells] == [1] * 8
    assert text.split().count("heading") == 8 and "8" not in text.split(), "without the empty one"
    assert "number 8" in table("", ["number 1", "number 8"], [["a", ""]], left=2), (
        "where there is room it stays"
    )
