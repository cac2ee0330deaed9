"""Where the compiled kernels of the optimizer are kept between runs.

numba compiles on first use, for up to a minute, and keeps the machine code beside the source or in
`NUMBA_CACHE_DIR`. It neither writes into read-only installs nor sees that a helper module changed, so
the folder is chosen here: one of the user's own, named by version and by the text of all sources. The
cache is executable, so a folder that somebody else can write to is never taken.
"""

from __future__ import annotations

import atexit
import hashlib
import os
import shutil
import sys
import tempfile
from collections.abc import Iterable, Mapping
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Final

VARIABLE: Final = "NUMBA_CACHE_DIR"
SOURCES: Final = (
    "panewright.nesting.angled",
    "panewright.nesting.free_regions",
    "panewright.nesting.lp",
    "panewright.nesting.optimizer",
    "panewright.nesting.ordered",
)


def prepare() -> Path | None:
    """Choose the folder of the compiled kernels and tell numba; must come before numba is imported.

    Returns
    -------
    Path or None
        The folder; None where numba has been imported already and keeps what it has.

    Notes
    -----
    In this order: the value of `NUMBA_CACHE_DIR`, the user's cache folder, a private folder among the
    temporary ones, a fresh temporary folder that goes at the end of the run.
    """
    given = os.environ.get(VARIABLE)
    if given:
        return Path(given)
    if "numba" in sys.modules:
        return None
    folder = _chosen()
    os.environ[VARIABLE] = str(folder)
    return folder


def _chosen() -> Path:
    name = folder_name()
    for base in (user_cache(os.environ, sys.platform), _temporary()):
        if base is not None and _usable(base / name):
            return base / name
    fresh = Path(tempfile.mkdtemp(prefix="panewright-"))
    atexit.register(shutil.rmtree, fresh, ignore_errors=True)
    return fresh


def folder_name() -> str:
    """Name of the sub-folder: version and a hash over the sources of the optimizer."""
    try:
        release = version("panewright")
    except PackageNotFoundError:
        release = "0"
    return f"kernels-{release}-{hash_of(SOURCES)[:16]}"


def hash_of(packages: Iterable[str]) -> str:
    """A hash over the sources of packages."""
    digest = hashlib.sha256()
    sources = [source for package in packages for source in _folder(package).iterdir()]
    for source in sorted(sources, key=lambda item: (item.name, str(item))):
        if source.name.endswith(".py"):
            text = source.read_bytes()
            digest.update(f"{source.name} {len(text)}\n".encode())
            digest.update(text)
    return digest.hexdigest()


def private_folder(name: str) -> Path | None:
    """A folder in the user's cache that nobody else can write to; None where there is none."""
    base = user_cache(os.environ, sys.platform)
    return base / name if base is not None and _usable(base / name) else None


def _folder(package: str) -> Traversable:
    """The folder of a package, by way of its parent: one asked for by its own name is imported, with numba."""
    parent, _, name = package.rpartition(".")
    # the outermost one is no package of its own
    return files(parent) / name if "." in parent else files(package)


def user_cache(environ: Mapping[str, str], platform: str) -> Path | None:
    """The folder where this user's programs keep what they can make again, by the platform's custom.

    Parameters
    ----------
    environ
        Environment variables.
    platform
        As `sys.platform`.

    Returns
    -------
    Path or None
        None where there is no home.

    Notes
    -----
    Windows: the local application data; macOS: Library/Caches; elsewhere the XDG Base Directory
    Specification, by which a relative `XDG_CACHE_HOME` does not count.
    """
    if platform == "win32":
        local = environ.get("LOCALAPPDATA")
        return Path(local) / "panewright" / "cache" if local else None
    named = environ.get("XDG_CACHE_HOME", "")
    if platform != "darwin" and Path(named).is_absolute():
        return Path(named) / "panewright"
    try:
        home = Path(environ["HOME"]) if environ.get("HOME") else Path.home()
    except RuntimeError:
        return None
    if not home.is_absolute():
        return None
    return home / ("Library/Caches" if platform == "darwin" else ".cache") / "panewright"


def _temporary() -> Path:
    who = str(os.getuid()) if sys.platform != "win32" else "cache"
    return Path(tempfile.gettempdir()) / f"panewright-{who}"


def _usable(folder: Path) -> bool:
    """Make the folder; whether it and its parent are ours alone to write, and can be written."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not all(_private(one) for one in (folder.parent, folder)):
            return False
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _private(folder: Path) -> bool:
    """Whether nobody else may write here; Windows keeps both bases private by itself."""
    if sys.platform == "win32":
        return True
    found = folder.lstat()
    return found.st_uid == os.getuid() and not found.st_mode & 0o022 and not folder.is_symlink()
