"""Where text goes: data to stdout, messages to stderr, safe on every terminal and pipe."""

from __future__ import annotations

import contextlib
import io
import os
import sys
from pathlib import Path
from typing import IO, Any

import click


def prepare_streams() -> None:
    """Make stdout and stderr take any text.

    A terminal keeps its encoding and shows ``?`` for what it lacks. Files and pipes get UTF-8 on
    Windows, where Python would otherwise write the old code page.
    """
    for stream in (sys.stdout, sys.stderr):
        if not isinstance(stream, io.TextIOWrapper):
            continue
        with contextlib.suppress(ValueError, OSError):
            if sys.platform == "win32" and not stream.isatty():
                stream.reconfigure(encoding="utf-8", errors="replace")
            else:
                stream.reconfigure(errors="replace")


def out(text: str) -> None:
    """Write data to stdout, with a line end."""
    _say(text, err=False)


def err(text: str) -> None:
    """Write a message to stderr, with a line end."""
    _say(text, err=True)


def out_json(data: dict[str, Any]) -> None:
    """Write one JSON object to stdout; numbers come as `panewright.io.numbers_text.Raw`."""
    from panewright.io.numbers_text import spread

    out(spread(data, 2))


def flush() -> None:
    """Flush both streams; a pipe whose reader has gone is quietly closed."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            _close(stream)


def _say(text: str, *, err: bool) -> None:
    try:
        click.echo(text, err=err)
    except OSError:
        # Broken pipe (EPIPE; EINVAL on Windows): the files are written, the exit code still counts.
        _close(sys.stderr if err else sys.stdout)


def _close(stream: IO[str]) -> None:
    """Point a dead stream at nothing, so that the interpreter can flush it at its end."""
    with contextlib.suppress(OSError, ValueError), Path(os.devnull).open("w", encoding="utf-8") as nowhere:
        os.dup2(nowhere.fileno(), stream.fileno())
