"""A temporary folder beside a target, on the same file system, so that one rename puts it in place."""

from __future__ import annotations

import contextlib
import secrets
import shutil
import sys
import time
from pathlib import Path


class WorkFolder:
    """Made with the folders above it; `remove` leaves nothing of it behind.

    Parameters
    ----------
    target
        The folder that it is to become.

    Raises
    ------
    OSError
        Where it cannot be made.
    """

    def __init__(self, target: Path) -> None:
        self.path = target.parent / f".{target.name[:100]}.{secrets.token_hex(4)}.tmp"
        self._made: list[Path] = []
        try:
            self._make_parents(target.parent)
            self.path.mkdir()
        except OSError:
            self.remove()
            raise

    def _make_parents(self, parent: Path) -> None:
        missing = []
        while not parent.exists():
            missing.append(parent)
            parent = parent.parent
        for folder in reversed(missing):
            folder.mkdir(exist_ok=True)
            self._made.append(folder)

    def keep_parents(self) -> None:
        """The folders above hold the target now: they stay."""
        self._made.clear()

    def remove(self) -> None:
        """Remove the folder, and the folders above that were made for it."""
        shutil.rmtree(self.path, ignore_errors=True)
        for folder in reversed(self._made):
            with contextlib.suppress(OSError):
                folder.rmdir()
        self._made.clear()


def move(source: Path, target: Path) -> None:
    """Rename over what is there; on Windows try again while a scanner holds the file."""
    for wait in (0.05, 0.1, 0.2, 0.4):
        try:
            source.replace(target)
            return
        except PermissionError:
            if sys.platform != "win32":
                raise
            time.sleep(wait)
    source.replace(target)
