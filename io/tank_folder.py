"""The folder of `panels`: all of it or nothing, never over a plan or somebody else's files."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Final

from panewright.io.list_folder import ListFolder
from panewright.nesting.text import tr

CONTENTS: Final = "tanks-contents.txt"
"""Names of the files of an earlier run, so that no other is removed."""


def write_tank_folder(path: Path, files: Iterable[tuple[str, str | bytes]], *, replace: bool) -> None:
    """Write the files of `panels`; arguments and errors as those of `ListFolder.write`."""
    ListFolder(path, CONTENTS, tr("the panels of an earlier run"), replace).write(files)
