"""The folder of `panels`: all of it or nothing, never over a plan or somebody else's files."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from panewright.io.file_names import PLAN_FILE, is_safe_name
from panewright.io.out_folder import OutFolderRefused, UnsafeName, check_folder, system_refusal
from panewright.io.problems import shown
from panewright.io.work_folder import WorkFolder, move
from panewright.nesting.text import tr

CONTENTS: Final = "tanks-contents.txt"
"""Names of the files of an earlier run, so that no other is removed."""


def write_tank_folder(path: Path, files: Iterable[tuple[str, str | bytes]], *, replace: bool) -> None:
    """Write the files, built in a temporary folder beside the target and put in place at the end.

    Parameters
    ----------
    path
        The target.
    files
        Name and content; text is written as UTF-8.
    replace
        Whether an earlier run's files may be replaced.

    Raises
    ------
    OutFolderRefused
        Where the folder holds a plan or files of others, or an earlier run's without `replace`.
    UnsafeName
        A name that could leave the folder.
    """
    _check(path, replace)
    target = path.resolve()
    try:
        work = WorkFolder(target)
        try:
            _fill(work.path, files)
            _put(work.path, target)
            work.keep_parents()
        finally:
            work.remove()
    except OSError as error:
        raise system_refusal(path, error) from error


def _fill(work: Path, files: Iterable[tuple[str, str | bytes]]) -> None:
    names: list[str] = []
    for name, content in files:
        if not is_safe_name(name) or name.lower() in {n.lower() for n in names}:
            raise UnsafeName(f"file name {name!r}")
        names.append(name)
        (work / name).write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    (work / CONTENTS).write_bytes("".join(f"{name}\n" for name in names).encode("utf-8"))


def _check(path: Path, replace: bool) -> None:
    held = check_folder(path, plan_id=None, replace=True)
    if held is None:
        return
    if (path / PLAN_FILE).exists():
        raise OutFolderRefused(path, tr("it holds a plan"), tr("give --out another folder"))
    own = _own(path)
    foreign = sorted(p.name for p in path.iterdir() if p.name not in own)
    if foreign:
        raise OutFolderRefused(
            path,
            tr("it holds other files ({first})", first=shown(foreign[0])),
            tr("give --out a new folder"),
        )
    if own and not replace:
        raise OutFolderRefused(
            path,
            tr("it holds the panels of an earlier run"),
            tr("give --out another folder, or --replace to put these in their place"),
        )


def _own(path: Path) -> set[str]:
    """What an earlier run wrote there."""
    try:
        text = (path / CONTENTS).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return set()
    return {name for name in text.splitlines() if is_safe_name(name)} | {CONTENTS}


def _put(work: Path, target: Path) -> None:
    """Move the new folder into place; an old one is moved aside first and comes back on an error."""
    if not target.exists():
        move(work, target)
        return
    aside = target.parent / f".{target.name[:100]}.{secrets.token_hex(4)}.old"
    move(target, aside)
    try:
        move(work, target)
    except BaseException:
        move(aside, target)
        raise
    shutil.rmtree(aside, ignore_errors=True)
