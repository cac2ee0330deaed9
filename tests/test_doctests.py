"""The examples in the docstrings give what they say."""

from __future__ import annotations

import contextvars
import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted(
    "panewright." + ".".join(path.relative_to(ROOT).with_suffix("").parts)
    for folder in ("nesting", "io", "cli")
    for path in (ROOT / folder).rglob("*.py")
    if ">>> " in path.read_text(encoding="utf-8")
)


def test_some_modules_have_examples() -> None:
    assert len(MODULES) > 3


@pytest.mark.parametrize("name", MODULES)
def test_examples_give_what_they_say(name: str) -> None:
    # the shop's way to show lengths must not reach other tests
    found = contextvars.copy_context().run(doctest.testmod, importlib.import_module(name))
    assert found.attempted
    assert not found.failed
