"""What is built is what is in the folders, and it runs where there is nothing but the wheel."""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import sysconfig
import tomllib
import zipfile
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from panewright.io import kernel_cache

ROOT = Path(__file__).resolve().parent.parent
FOLDERS = ("nesting", "io", "cli", "samples")


@pytest.fixture(scope="session")
def settings() -> dict[str, Any]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def package_folders() -> dict[str, str]:
    """Package name -> folder, for every folder that holds a module."""
    found = {
        path.parent.relative_to(ROOT)
        for top in FOLDERS
        for path in (ROOT / top).rglob("*.py")
        if "__pycache__" not in path.parts
    }
    return {"panewright." + ".".join(path.parts): path.as_posix() for path in sorted(found)}


def test_every_package_is_listed(settings: dict[str, Any]) -> None:
    # setuptools drops an unlisted sub-package from the wheel without a word
    listed = settings["tool"]["setuptools"]["packages"]
    assert sorted(listed) == sorted(package_folders())
    assert settings["tool"]["setuptools"]["package-dir"] == package_folders()


def test_every_package_has_its_init() -> None:
    for folder in package_folders().values():
        assert (ROOT / folder / "__init__.py").is_file(), folder
    for folder in ("nesting", "io", "cli"):
        assert (ROOT / folder / "py.typed").is_file(), folder


def test_the_type_checkers_links_lead_to_the_folders() -> None:
    for folder in ("nesting", "io", "cli"):
        link = ROOT / ".typing" / "panewright" / folder
        if not link.is_symlink():
            pytest.skip("this checkout holds no links (git on Windows)")
        assert link.resolve() == ROOT / folder


def test_the_root_stays_a_namespace() -> None:
    # a panewright/__init__.py in one of the parts would hide the others
    spec = importlib.util.find_spec("panewright")
    assert spec is not None
    assert spec.origin is None


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel, built from a copy of the sources, so that no old build folder gets into it."""
    folder = tmp_path_factory.mktemp("build")
    for name in FOLDERS:
        shutil.copytree(
            ROOT / name, folder / "tree" / name, ignore=shutil.ignore_patterns("__pycache__", "*.nb[ic]")
        )
    for name in ("pyproject.toml", "README.md"):
        shutil.copy2(ROOT / name, folder / "tree" / name)
    done = run(
        [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", "dist", "./tree"],
        cwd=folder,
        env=os.environ,
    )
    if done.returncode and "No matching distribution found for setuptools" in done.stderr:
        pytest.skip("no package index can be reached to fetch the build back-end")
    assert done.returncode == 0, done.stderr
    (built,) = (folder / "dist").glob("*.whl")
    return built


def run(command: list[str], *, cwd: Path, env: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command, cwd=cwd, env=env, check=False, capture_output=True, text=True, encoding="utf-8"
    )


def test_the_wheel_holds_every_module_and_the_samples(wheel: Path, settings: dict[str, Any]) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    data = settings["tool"]["setuptools"]["package-data"]
    patterns = data["panewright.samples"]
    wanted = {
        f"panewright/{path.relative_to(ROOT).as_posix()}"
        for folder in FOLDERS
        for path in (ROOT / folder).rglob("*")
        if path.suffix in (".py", ".mo") or path.name == "py.typed"
    }
    samples = {path for pattern in patterns for path in (ROOT / "samples").glob(pattern)}
    assert samples
    wanted |= {f"panewright/samples/{path.name}" for path in samples}
    fonts = {path.name for path in (ROOT / "io" / "fonts").iterdir()}
    # a font goes nowhere without its licence
    assert "LICENSE.txt" in fonts and any(name.endswith(".ttf") for name in fonts)
    others = {path for pattern in data["panewright.io"] for path in (ROOT / "io").glob(pattern)}
    assert others
    wanted |= {f"panewright/{path.relative_to(ROOT).as_posix()}" for path in others}
    assert held == wanted


@pytest.fixture(scope="session")
def installed(wheel: Path, pytestconfig: pytest.Config, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, unpacked into a folder of its own.

    The folder stays from one run of pytest to the next as long as the sources are the same, since
    compiled kernels belong to the path of their source.
    """
    cache = getattr(pytestconfig, "cache", None)
    base = cache.mkdir("panewright-wheel") if cache else tmp_path_factory.mktemp("installed")
    digest = hashlib.sha256()
    with zipfile.ZipFile(wheel) as archive:
        for name in sorted(archive.namelist()):
            digest.update(name.encode() + hashlib.sha256(archive.read(name)).digest())
    target = Path(base) / digest.hexdigest()[:16]
    if not (target / "whole").exists():
        for old in Path(base).iterdir():
            shutil.rmtree(old, ignore_errors=True)
        command = ["install", "-q", "--no-deps", "--no-index", "-t", str(target), str(wheel)]
        done = run([sys.executable, "-m", "pip", *command], cwd=Path(base), env=os.environ)
        assert done.returncode == 0, done.stderr
        (target / "whole").touch()
    lend_kernels(target)
    return target


def lend_kernels(target: Path) -> None:
    """Machine code of our sources for the unpacked ones: numba takes it only where their text is the same."""
    from numba.core.caching import _CacheLocator

    kept = os.environ.get(kernel_cache.VARIABLE)
    for package in kernel_cache.SOURCES if kept else ():
        ours, theirs = (
            _CacheLocator.get_suitable_cache_subpath(str(root.joinpath(*package.split(".")[skip:], "a.py")))
            for root, skip in ((ROOT, 1), (target, 0))
        )
        if (Path(kept or "") / ours).is_dir():
            half_written = shutil.ignore_patterns("*.tmp.*")
            shutil.copytree(
                Path(kept or "") / ours, target / "kernels" / theirs, ignore=half_written, dirs_exist_ok=True
            )


def start(installed: Path, where: Path, code: str, *args: str) -> subprocess.CompletedProcess[str]:
    """Run code with the unpacked wheel and the dependencies alone: without `site`, no editable install."""
    libraries = [str(installed), sysconfig.get_path("purelib"), sysconfig.get_path("platlib")]
    env = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(libraries),
        "NUMBA_CACHE_DIR": str(installed / "kernels"),
        "PYTHONUTF8": "1",
    }
    return run([sys.executable, "-S", "-c", code, *args], cwd=where, env=env)


MAIN = "from panewright.cli.main import main; main()"


def test_the_demo_runs_from_the_wheel_in_an_empty_folder_and_gives_the_same_bytes(
    installed: Path, tmp_path: Path, short_demo: tuple[Path, Result]
) -> None:
    where = start(installed, tmp_path, "import panewright.cli.main as m; print(m.__file__)")
    assert where.stdout.startswith(str(installed)), where.stdout + where.stderr
    done = start(installed, tmp_path, MAIN, "demo", "--effort", "1")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    out = tmp_path / "panewright-demo"
    assert [path.name for path in tmp_path.iterdir()] == ["panewright-demo"]
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert plan["sheets"]
    assert plan["plan"] in done.stdout
    for ending in ("csv", "txt", "json", "dxf", "svg"):
        assert any(path.suffix == f".{ending}" for path in out.iterdir()), ending
    here, _ = short_demo
    assert {path.name: path.read_bytes() for path in here.iterdir()} == {
        path.name: path.read_bytes() for path in out.iterdir()
    }


def test_the_console_script_names_a_function(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (n for n in archive.namelist() if n.endswith("/entry_points.txt"))
        text = archive.read(name).decode("utf-8")
    assert text.split() == ["[console_scripts]", "panewright", "=", "panewright.cli.main:main"]
