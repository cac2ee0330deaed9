"""The folder of the compiled kernels: found everywhere, never one that others can write to."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from panewright.io import kernel_cache
from panewright.io.kernel_cache import folder_name, prepare, user_cache

posix_only = pytest.mark.skipif(sys.platform == "win32", reason="modes of files are a matter of POSIX")


@pytest.fixture
def no_numba(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if numba had not been imported, and nothing were said about its cache."""
    monkeypatch.delitem(sys.modules, "numba", raising=False)
    monkeypatch.setenv(kernel_cache.VARIABLE, "")


@pytest.mark.parametrize(
    ("environ", "platform", "folder"),
    [
        ({"XDG_CACHE_HOME": "/x/c", "HOME": "/h"}, "linux", "/x/c/panewright"),
        # XDG Base Directory Specification: relative paths must be ignored
        ({"XDG_CACHE_HOME": "c", "HOME": "/h"}, "linux", "/h/.cache/panewright"),
        ({"HOME": "/h"}, "linux", "/h/.cache/panewright"),
        ({"HOME": "/h", "XDG_CACHE_HOME": "/x"}, "darwin", "/h/Library/Caches/panewright"),
        ({"LOCALAPPDATA": "/l", "HOME": "/h"}, "win32", "/l/panewright/cache"),
    ],
)
@posix_only
def test_user_cache_follows_the_platform(environ: dict[str, str], platform: str, folder: str) -> None:
    assert user_cache(environ, platform) == Path(folder)


def test_windows_without_local_data_has_none() -> None:
    assert user_cache({}, "win32") is None


@pytest.mark.usefixtures("no_numba")
def test_a_given_folder_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(kernel_cache.VARIABLE, str(tmp_path))
    assert prepare() == tmp_path


def test_after_numba_nothing_changes(monkeypatch: pytest.MonkeyPatch) -> None:
    import numba  # noqa: F401

    monkeypatch.delenv(kernel_cache.VARIABLE, raising=False)
    assert prepare() is None
    assert kernel_cache.VARIABLE not in os.environ


@posix_only
@pytest.mark.usefixtures("no_numba")
def test_user_cache_is_made_private(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernel_cache, "user_cache", lambda *_: tmp_path / "panewright")
    folder = prepare()
    assert folder == tmp_path / "panewright" / folder_name()
    assert os.environ[kernel_cache.VARIABLE] == str(folder)
    assert folder is not None
    assert folder.stat().st_mode & 0o077 == 0


@posix_only
@pytest.mark.usefixtures("no_numba")
@pytest.mark.parametrize("kind", ["open to all", "a file", "a link", "no home"])
def test_otherwise_a_private_temporary_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    base = tmp_path / "panewright"
    if kind == "open to all":
        base.mkdir()
        base.chmod(0o777)
    elif kind == "a file":
        base.write_bytes(b"")
    elif kind == "a link":
        (tmp_path / "real").mkdir(mode=0o700)
        base.symlink_to(tmp_path / "real")
    monkeypatch.setattr(kernel_cache, "user_cache", lambda *_: None if kind == "no home" else base)
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path))
    assert prepare() == tmp_path / f"panewright-{os.getuid()}" / folder_name()


@posix_only
@pytest.mark.usefixtures("no_numba")
def test_a_temporary_folder_laid_by_somebody_else_is_not_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    trap = tmp_path / f"panewright-{os.getuid()}"
    trap.mkdir()
    trap.chmod(0o777)
    monkeypatch.setattr(kernel_cache, "user_cache", lambda *_: None)
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path))
    folder = prepare()
    assert folder is not None
    assert folder.parent == tmp_path
    assert folder != trap
    assert folder.is_dir()


def test_the_name_follows_every_source(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.py").write_text("x = 1\n", encoding="utf-8")
    (tmp_path / "b.txt").write_text("no source", encoding="utf-8")
    monkeypatch.setattr(kernel_cache, "_folder", lambda _: tmp_path)
    first = folder_name()
    (tmp_path / "b.txt").write_text("still none", encoding="utf-8")
    assert folder_name() == first
    (tmp_path / "a.py").write_text("x = 2\n", encoding="utf-8")
    assert folder_name() != first
