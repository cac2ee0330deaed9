"""The layers hold: cli over io over nesting, and nesting knows no file, screen or clock."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ALLOWED_OUTSIDE = {"highspy", "numpy", "numba", "ortools", "statsforecast"}
"""What the domain may use besides the standard library."""
FORBIDDEN_STANDARD = {
    "csv",
    "json",
    "tomllib",
    "pathlib",
    "time",
    "random",
    "os",
    "io",
    "sqlite3",
    "socket",
    "subprocess",
    "tempfile",
    "shutil",
    "urllib",
}


def passes(name: str, *args: str) -> None:
    """Run a tool of the extra `dev` in the root; skips where it is not there."""
    beside = Path(sys.executable).with_name(name)
    found = str(beside) if beside.exists() else shutil.which(name)
    if found is None:
        pytest.skip(f"{name} comes with the extra `dev`")
    done = subprocess.run(
        [found, *args], cwd=ROOT, check=False, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode == 0, done.stdout + done.stderr


def imported(path: Path) -> set[str]:
    """The modules that a file imports, as `a.b`; relative ones are left out."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names.add(node.module)
    return names


def sources(folder: str) -> list[Path]:
    found = sorted((ROOT / folder).rglob("*.py"))
    assert found
    return found


def test_nesting_imports_the_standard_library_and_numerics_alone() -> None:
    for path in sources("nesting"):
        tops = {name.split(".")[0] for name in imported(path)}
        assert not tops & FORBIDDEN_STANDARD, path
        assert tops <= ALLOWED_OUTSIDE | sys.stdlib_module_names | {"panewright"}, path
        assert not {n for n in imported(path) if n.startswith(("panewright.io", "panewright.cli"))}, path


def test_io_imports_nothing_of_the_command_line() -> None:
    for path in sources("io"):
        tops = {name.split(".")[0] for name in imported(path)}
        assert "click" not in tops, path
        assert not {name for name in imported(path) if name.startswith("panewright.cli")}, path


def test_no_module_of_io_is_named_like_one_of_the_standard_library() -> None:
    # A script started from that folder would shadow it.
    assert not {path.stem for path in sources("io")} & set(sys.stdlib_module_names)


def test_import_contracts_hold() -> None:
    passes("lint-imports", "--no-cache")


def test_banned_calls_are_not_used() -> None:
    passes("ruff", "check", "--no-cache", "--select", "TID251,T20,NPY002", "nesting", "io", "cli")


def test_no_module_is_longer_than_400_lines() -> None:
    long = {
        str(path.relative_to(ROOT)): lines
        for folder in ("nesting", "io", "cli")
        for path in sources(folder)
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert not long
