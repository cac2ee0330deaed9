"""The folder that a plan is written to: all of it or nothing, and never over glass already cut.

Everything is built in a temporary folder beside the target, on the same file system. A target that
does not exist yet comes into being by one rename. In one that does, the new files are moved in (their
names bear the new plan's id, so they meet no old file) and ``plan.json`` is replaced last, by one
rename: whoever reads the folder finds the old plan or the new one.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from types import TracebackType
from typing import Self

from panewright.io.file_names import PLAN_FILE, contents_name, is_safe_name
from panewright.io.held_plan import HeldPlan, contents_text
from panewright.io.problems import shown
from panewright.io.work_folder import WorkFolder, move
from panewright.nesting.text import tr, tr_count


class OutFolderRefused(Exception):
    """A folder to which this plan may not be written.

    Parameters
    ----------
    folder
        The folder.
    reason
        Why, worded for the user.
    remedy
        What to do.
    """

    refuses_folder = True

    def __init__(self, folder: Path, reason: str, remedy: str) -> None:
        self.folder, self.reason, self.remedy = folder, reason, remedy
        super().__init__(folder, reason, remedy)

    def __str__(self) -> str:
        return tr(
            "out folder {folder}: {reason}; {remedy}",
            folder=shown(self.folder, 300),
            reason=self.reason,
            remedy=self.remedy,
        )


class UnsafeName(ValueError):
    """A file name of ours that could leave the folder or that some system refuses."""


def check_folder(path: Path, *, plan_id: str | None, replace: bool) -> HeldPlan | None:
    """Refuse a folder that must not be written to; what it holds, or None where it does not exist.

    Parameters
    ----------
    path
        The target.
    plan_id
        Id of the plan to be written; None before it is known, when only what is certain is refused.
    replace
        Whether another plan may be replaced and other files may lie beside the new ones.

    Raises
    ------
    OutFolderRefused
        Always where a sheet of the plan in it is recorded as cut.
    """
    if path.is_symlink():
        raise OutFolderRefused(path, tr("it is a link"), tr("name the folder itself"))
    try:
        if not path.exists():
            _check_parent(path)
            return None
        if not path.is_dir():
            raise OutFolderRefused(path, tr("it is a file"), tr("give --out another name"))
        held = HeldPlan.look(path)
    except OSError as error:
        raise system_refusal(path, error) from error
    if not os.access(path, os.W_OK | os.X_OK):
        raise OutFolderRefused(path, tr("it cannot be written to"), tr("give --out another folder"))
    _check_held(path, held, plan_id, replace)
    return held


def _check_parent(path: Path) -> None:
    """The nearest folder above that exists must be one that can be written to."""
    above = path.resolve().parent
    while not above.exists() and above != above.parent:
        above = above.parent
    if not above.is_dir():
        raise OutFolderRefused(
            path, tr("{above} is no folder", above=shown(above, 300)), tr("give --out another folder")
        )
    if not os.access(above, os.W_OK | os.X_OK):
        raise OutFolderRefused(
            path,
            tr("{above} cannot be written to", above=shown(above, 300)),
            tr("give --out another folder"),
        )


def _check_held(path: Path, held: HeldPlan, plan_id: str | None, replace: bool) -> None:
    if held.cut_sheets:
        raise cut_refusal(path, held.plan_id, len(held.cut_sheets))
    if held.unreadable_records and (held.plan_id or held.unreadable_plan):
        raise OutFolderRefused(
            path,
            tr(
                "{name} cannot be read, so it is not known what has been cut",
                name=held.unreadable_records[0],
            ),
            tr("mend it or give --out another folder"),
        )
    if held.unreadable_plan:
        raise OutFolderRefused(
            path,
            tr("the {name} in it is no plan file of this program", name=PLAN_FILE),
            tr("move it away or give --out another folder"),
        )
    if replace:
        return
    if held.plan_id is None and held.foreign:
        raise OutFolderRefused(
            path,
            tr("it holds other files ({first})", first=shown(held.foreign[0])),
            tr("give --out a new folder, or --replace to write beside them"),
        )
    if held.plan_id is not None and plan_id not in (None, held.plan_id):
        raise OutFolderRefused(
            path,
            tr("it holds another plan, {plan}", plan=held.plan_id),
            tr("give --out another folder, or --replace to put this one in its place"),
        )


def cut_refusal(path: Path, plan_id: str | None, sheets: int) -> OutFolderRefused:
    """What to say where sheets of the plan in a folder are cut."""
    return OutFolderRefused(
        path,
        tr_count(
            "{count} sheet of the plan {plan} in it is recorded as cut",
            "{count} sheets of the plan {plan} in it are recorded as cut",
            sheets,
            plan=plan_id,
        ),
        tr("give --out another folder"),
    )


def system_refusal(path: Path, error: OSError) -> OutFolderRefused:
    """What to say where the system refuses a folder."""
    return OutFolderRefused(
        path,
        tr("the system says: {reason}", reason=error.strerror or str(error)),
        tr("give --out another folder or mend this one"),
    )


class OutFolder:
    """Collects the files of one plan and puts them in place when the ``with`` block ends well.

    Parameters
    ----------
    path
        The target; made where it does not exist, with the folders above it.
    plan_id
        Every file name but ``plan.json`` must bear it.
    replace
        See `check_folder`.

    Raises
    ------
    OutFolderRefused
        On entering and, should things have changed meanwhile, on leaving.

    Notes
    -----
    An exception in the block, Ctrl-C included, leaves the target as it was.
    """

    def __init__(self, path: Path, *, plan_id: str, replace: bool = False) -> None:
        self.path, self.plan_id, self.replace = path, plan_id, replace
        self._files: dict[str, bytes] = {}
        self._work: WorkFolder | None = None

    def __enter__(self) -> Self:
        check_folder(self.path, plan_id=self.plan_id, replace=self.replace)
        try:
            self._work = WorkFolder(self.path.resolve())
        except OSError as error:
            raise system_refusal(self.path, error) from error
        return self

    def write(self, name: str, content: str | bytes) -> None:
        """Add a file. Text is written as UTF-8 with the line ends that it has.

        Raises
        ------
        UnsafeName
            When the name could leave the folder, bears no plan id or is taken.
        """
        if self._work is None:
            raise RuntimeError("the out folder is not open")
        if not is_safe_name(name) or (name != PLAN_FILE and self.plan_id not in name):
            raise UnsafeName(f"file name {name!r}")
        if name.lower() in {known.lower() for known in self._files}:
            raise UnsafeName(f"file name {name!r} twice")
        content = content.encode() if isinstance(content, str) else content
        self._files[name] = content
        try:
            (self._work.path / name).write_bytes(content)
        except OSError as error:
            raise system_refusal(self.path, error) from error

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        assert self._work is not None
        try:
            if kind is None:
                self._commit(self._work.path)
                self._work.keep_parents()
        except OSError as failed:
            raise system_refusal(self.path, failed) from failed
        finally:
            self._work.remove()
            self._work = None

    def _commit(self, work: Path) -> None:
        if PLAN_FILE not in self._files:
            raise RuntimeError(f"{PLAN_FILE} is missing")
        self.write(contents_name(self.plan_id), contents_text(self.plan_id, self._files))
        _sync(work / PLAN_FILE)
        held = check_folder(self.path, plan_id=self.plan_id, replace=self.replace)
        if held is None:
            move(work, self.path.resolve())
            return
        self._move_in(work, held)
        for name in held.own:
            if name not in self._files:
                # A file open elsewhere may be undeletable on Windows: the new plan stands all the same.
                with contextlib.suppress(OSError):
                    (self.path / name).unlink()

    def _move_in(self, work: Path, held: HeldPlan) -> None:
        """Move the files into a folder that is there, ``plan.json`` last; on any error take them back."""
        taken = {name.lower() for name in held.foreign} & {name.lower() for name in self._files}
        if taken:
            raise OutFolderRefused(
                self.path,
                tr("{name} in it is a file of somebody else", name=min(taken)),
                tr("move it away or give --out another folder"),
            )
        names = sorted(self._files, key=lambda name: (name == PLAN_FILE, name))
        moved: list[str] = []
        aside = work / "aside"
        aside.mkdir()
        try:
            for name in names:
                moved.append(name)
                # Only a second run of the same plan meets files of the same names.
                if name != PLAN_FILE and (self.path / name).exists():
                    move(self.path / name, aside / name)
                move(work / name, self.path / name)
        except BaseException:
            for name in moved:
                self._take_back(work, aside, name)
            raise

    def _take_back(self, work: Path, aside: Path, name: str) -> None:
        with contextlib.suppress(OSError):
            if (aside / name).exists():
                move(aside / name, self.path / name)
            elif not (work / name).exists():
                (self.path / name).unlink()


def _sync(path: Path) -> None:
    """Have the file on the disk before its rename is."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
