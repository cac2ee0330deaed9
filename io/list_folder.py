"""A folder of lists: all of it or nothing, never over a plan or somebody else's files."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from panewright.io.file_names import PLAN_FILE, is_safe_name
from panewright.io.out_folder import OutFolderRefused, UnsafeName, check_folder, system_refusal
from panewright.io.problems import shown
from panewright.io.work_folder import WorkFolder, move
from panewright.nesting.text import tr


@dataclass(frozen=True, slots=True)
class ListFolder:
    """Where a command writes lists that are no plan.

    Parameters
    ----------
    path
        The folder.
    contents
        Name of the file that names the files of an earlier run, so that no other is removed.
    holds
        What an earlier run left there, for the user: ``the panels of an earlier run``.
    replace
        Whether an earlier run's files may be replaced.
    """

    path: Path
    contents: str
    holds: str
    replace: bool

    def check(self) -> None:
        """Refuse a folder that must not be written to.

        Raises
        ------
        OutFolderRefused
            Where the folder holds a plan or files of others, or an earlier run's without `replace`.
        """
        held = check_folder(self.path, plan_id=None, replace=True)
        if held is None:
            return
        if (self.path / PLAN_FILE).exists():
            raise OutFolderRefused(self.path, tr("it holds a plan"), tr("give --out another folder"))
        own = self._own()
        foreign = sorted(p.name for p in self.path.iterdir() if p.name not in own)
        if foreign:
            raise OutFolderRefused(
                self.path,
                tr("it holds other files ({first})", first=shown(foreign[0])),
                tr("give --out a new folder"),
            )
        if own and not self.replace:
            raise OutFolderRefused(
                self.path,
                tr("it holds {what}", what=self.holds),
                tr("give --out another folder, or --replace to put these in their place"),
            )

    def write(self, files: Iterable[tuple[str, str | bytes]]) -> None:
        """Write the files, built in a temporary folder beside the target and put in place at the end.

        Parameters
        ----------
        files
            Name and content; text is written as UTF-8.

        Raises
        ------
        OutFolderRefused
            As `check` does, and where the system refuses the folder.
        UnsafeName
            A name that could leave the folder.
        """
        self.check()
        target = self.path.resolve()
        try:
            work = WorkFolder(target)
            try:
                self._fill(work.path, files)
                _put(work.path, target)
                work.keep_parents()
            finally:
                work.remove()
        except OSError as error:
            raise system_refusal(self.path, error) from error

    def _fill(self, work: Path, files: Iterable[tuple[str, str | bytes]]) -> None:
        names: list[str] = []
        for name, content in files:
            if not is_safe_name(name) or name.lower() in {n.lower() for n in names}:
                raise UnsafeName(f"file name {name!r}")
            names.append(name)
            (work / name).write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
        (work / self.contents).write_bytes("".join(f"{name}\n" for name in names).encode("utf-8"))

    def _own(self) -> set[str]:
        """What an earlier run wrote there."""
        try:
            text = (self.path / self.contents).read_text(encoding="utf-8")
        except (OSError, ValueError):
            return set()
        return {name for name in text.splitlines() if is_safe_name(name)} | {self.contents}


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
