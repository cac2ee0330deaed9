"""Exit codes, and the one place where errors become messages and exit codes.

A command raises; nothing but this module decides what the user sees of it. Bad input, a refused
folder or a broken pipe never give a traceback; `--debug` before the command shows one.
"""

from __future__ import annotations

import platform
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import IntEnum
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import click

from panewright.cli.output import err, flush
from panewright.nesting.errors import NestingError, PlanFault
from panewright.nesting.text import tr

_HELP: tuple[type[Exception], ...] = tuple(
    kind for kind in [getattr(click.exceptions, "NoArgsIsHelpError", None)] if kind is not None
)
"""What newer releases of click raise when a command that needs arguments gets none."""


class Exit(IntEnum):
    """Exit codes of every command."""

    DONE = 0
    """Done."""
    LEFT_OVER = 1
    """Done, but something is unplaced, or `check` refuses a file."""
    USAGE = 2
    """The call is wrong, the out folder refused included; nothing written."""
    INPUT = 3
    """Errors in an input file, or a panel that no stock can yield; nothing written."""
    FAULT = 4
    """Internal fault, a fresh plan refused by the checker included; nothing written."""
    INTERRUPTED = 130
    """Interrupted with no plan."""


class Failure(click.ClickException):
    """An error whose message and exit code are settled.

    Parameters
    ----------
    message
        Worded for the user: got, expected, what to do.
    code
        Exit code of the program.
    """

    def __init__(self, message: str, code: Exit) -> None:
        self.code = code
        super().__init__(message)


def already_there(path: Path) -> Failure:
    """A file that is not written over."""
    return Failure(tr("{path} is there already; give --replace to write over it", path=path), Exit.USAGE)


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """While a file is written: what the system refuses becomes a message."""
    try:
        yield
    except FileExistsError:
        raise already_there(path) from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Failure(
            tr("{path} cannot be written ({reason})", path=path, reason=reason), Exit.USAGE
        ) from None


def program() -> str:
    """Name and version, as plans and reports carry them."""
    try:
        return f"panewright {version('panewright')}"
    except PackageNotFoundError:
        return "panewright"


def guard(call: Callable[[], object], *, debug: Callable[[], bool] = lambda: False) -> int:
    """Run a command and return the exit code, with every error turned into a message on stderr.

    Parameters
    ----------
    call
        Runs the command; an int that it returns is the exit code.
    debug
        Asked after an error: whether to show the traceback.
    """
    try:
        result = call()
        flush()
        return int(result) if isinstance(result, int) else Exit.DONE
    except SystemExit:
        # click's answer to a pipe that closed while it printed help
        flush()
        return Exit.DONE
    except Exception as error:  # noqa: BLE001 - the last stop of every error
        if is_interrupt(error):
            err(tr("interrupted; nothing was written"))
            return int(Exit.INTERRUPTED)
        if debug():
            err(traceback.format_exc().rstrip())
        return int(_report(error))
    except KeyboardInterrupt:
        if debug():
            err(traceback.format_exc().rstrip())
        err(tr("interrupted; nothing was written"))
        return int(Exit.INTERRUPTED)


def is_interrupt(error: BaseException) -> bool:
    """Whether it is a Ctrl-C, or one that compiled code turned into an error of its own."""
    cause = error.__cause__ or error.__context__
    hidden = isinstance(error, SystemError) and isinstance(cause, KeyboardInterrupt)
    return hidden or isinstance(error, KeyboardInterrupt)


def _report(error: Exception) -> Exit:
    """Say on stderr what went wrong and choose the exit code."""
    match error:
        case Failure():
            if error.message:
                err(error.format_message())
            return error.code
        case _ if isinstance(error, _HELP):
            err(str(error).rstrip())
            return Exit.USAGE
        case click.UsageError():
            err(_usage(error))
            return Exit.USAGE
        case click.ClickException():
            err(tr("error: {reason}", reason=error.format_message()))
            return Exit.USAGE
        case click.Abort():
            err(tr("interrupted; nothing was written"))
            return Exit.INTERRUPTED
        case BrokenPipeError():
            # Whoever read our output has seen enough: no fault of anybody.
            return Exit.DONE
        case PlanFault():
            err(fault_report(error))
            return Exit.FAULT
        case _ if getattr(error, "refuses_folder", False) or getattr(error, "wrong_call", False):
            err(tr("error: {reason}", reason=error))
            return Exit.USAGE
        case _ if getattr(error, "missing_input", False):
            err(tr("error: {reason}", reason=error))
            return Exit.INPUT
        case NestingError():
            err(tr("error: {reason}", reason=error))
            return Exit.INPUT
        case OSError():
            err(tr("error: {reason}", reason=reason_of(error)))
            return Exit.INPUT
        case _:
            err(fault_report(error))
            return Exit.FAULT


def _usage(error: click.UsageError) -> str:
    """The message of a wrong call, with the usage line and where to read on."""
    lines = []
    if error.ctx is not None:
        lines.append(error.ctx.get_usage())
        lines.append(tr("Read on with: {command} --help", command=error.ctx.command_path))
        lines.append("")
    lines.append(tr("error: {reason}", reason=error.format_message()))
    return "\n".join(lines)


def reason_of(error: Exception) -> str:
    """What an error says; of the system's own, what it said and of which file."""
    if not isinstance(error, OSError):
        return str(error)
    reason = error.strerror or str(error) or type(error).__name__
    return f"{error.filename}: {reason}" if error.filename else reason


def fault_report(error: Exception) -> str:
    """A short report of an internal fault, fit to be passed on.

    It gives the kind of fault and its own words, cut short, the versions, and the places in our code
    by module and line, without paths.
    """
    frames = [
        f"{Path(frame.filename).stem}:{frame.lineno} {frame.name}"
        for frame in traceback.extract_tb(error.__traceback__)
        if _is_ours(frame.filename)
    ]
    lines = [tr("internal fault; nothing was written. This is an error in the program, not in your files.")]
    if isinstance(error, PlanFault):
        lines.append(f"  {error}")
    else:
        lines.append(f"  {type(error).__name__}: {str(error)[:200]}")
    lines.append(f"  {program()}, Python {platform.python_version()}, {sys.platform}")
    if frames:
        lines.append("  " + " < ".join(reversed(frames[-4:])))
    lines.append(tr("Run again as `panewright --debug ...` for the whole trace."))
    return "\n".join(lines)


def _is_ours(filename: str) -> bool:
    parent = Path(filename).parent
    return bool({parent.name, parent.parent.name} & {"nesting", "io", "cli"})
