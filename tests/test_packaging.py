"""What is shipped: versions that agree, lock files that hold, a wheel with every file and the same bytes each time.

``scripts/release-check`` goes further: it installs the wheel in an empty environment and asks it.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

import benchseal

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCKS = [ROOT / "requirements" / "runtime.lock", ROOT / "requirements" / "test.lock"]

PINNED = re.compile(r"^([a-z0-9-]+)==([^ ]+)(?: ; .*)? \\$", re.MULTILINE)


def pins(text: str) -> dict[str, str]:
    """Name to version of each package in the text of a lock file."""
    return dict(PINNED.findall(text))


def normal(name: str) -> str:
    """A package's name as lock files write it (PyPA specification of name normalisation)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def asked_for(requirements: list[str]) -> set[str]:
    return {normal(re.split(r"[<>=!~; \[]", text)[0]) for text in requirements}


@pytest.mark.parametrize("folder", ["schemas", "report_templates"])
def test_a_checkout_keeps_the_shipped_folders_at_the_top(folder: str) -> None:
    """In the package they would hide the real ones from ``shipped``; only a wheel has them there."""
    assert (ROOT / folder).is_dir()
    assert not (ROOT / "pipeline" / "benchseal" / folder).exists()


def test_the_package_says_it_is_typed() -> None:
    assert (ROOT / "pipeline" / "benchseal" / "py.typed").read_bytes() == b""


def test_versions_agree() -> None:
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    newest = re.search(r"^## (\S+)", changelog, re.MULTILINE)
    assert newest is not None
    assert newest[1] == PROJECT["project"]["version"] == benchseal.__version__


@pytest.mark.clause("A11 3")
@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_every_locked_package_has_hashes(lock: Path) -> None:
    blocks = re.split(r"^(?=[a-z0-9])", lock.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    assert blocks
    assert [block for block in blocks if not PINNED.match(block) or "--hash=sha256:" not in block] == []


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_lock_files_name_no_place(lock: Path) -> None:
    """Where packages come from is the machine's own setting."""
    lines = lock.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if "://" in line or line.startswith("-")] == []


def test_lock_files_cover_what_the_project_asks_for() -> None:
    runtime, test = (pins(lock.read_text(encoding="utf-8")) for lock in LOCKS)
    project = PROJECT["project"]
    assert asked_for(project["dependencies"]) | {"hatchling"} <= runtime.keys()
    assert asked_for(project["optional-dependencies"]["test"]) <= runtime.keys() | test.keys()
    assert not runtime.keys() & test.keys(), "one place for each version"


def build_wheel(into: Path) -> Path:
    """The wheel of this checkout, built without network."""
    subprocess.run(  # noqa: S603  our own interpreter and arguments
        [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(into)],
        cwd=ROOT,
        env=os.environ | {"SOURCE_DATE_EPOCH": "1767225600"},
        check=True,
        capture_output=True,
    )
    (wheel,) = into.glob("*.whl")
    return wheel


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_wheel(tmp_path_factory.mktemp("wheel"))


@pytest.mark.parametrize("folder", ["schemas", "report_templates"])
def test_the_wheel_carries_every_shipped_file(wheel: Path, folder: str) -> None:
    """A file that git ignores would be left out without a word."""
    kept = {path.relative_to(ROOT).as_posix() for path in (ROOT / folder).rglob("*") if path.is_file()}
    packed = {name.removeprefix("benchseal/") for name in zipfile.ZipFile(wheel).namelist()}
    assert {name for name in packed if name.startswith(f"{folder}/")} == kept


def test_the_wheel_carries_the_package_whole(wheel: Path) -> None:
    package = ROOT / "pipeline" / "benchseal"
    kept = {f"benchseal/{path.relative_to(package).as_posix()}" for path in package.rglob("*") if path.is_file()}
    kept = {name for name in kept if "__pycache__" not in name}
    assert kept <= set(zipfile.ZipFile(wheel).namelist())


@pytest.mark.clause("A11 3")
def test_two_wheels_of_one_checkout_are_equal(wheel: Path, tmp_path: Path) -> None:
    assert build_wheel(tmp_path).read_bytes() == wheel.read_bytes()


@pytest.mark.refuses("A11 3")
@pytest.mark.parametrize("changed", [False, True], ids=["as built", "one byte more"])
def test_what_is_not_what_was_locked_is_not_installed(wheel: Path, tmp_path: Path, changed: bool) -> None:
    """NEG: a package of the right name and version whose bytes are others, installed as set-up installs."""
    found = tmp_path / "found"
    found.mkdir()
    name = wheel.name.split("-")[0]
    shutil.copy(wheel, found)
    if changed:
        with zipfile.ZipFile(found / wheel.name, "a") as archive:
            archive.writestr("benchseal/extra.py", "")
    digest = hashlib.sha256(wheel.read_bytes()).hexdigest()
    (tmp_path / "a.lock").write_text(f"{name}=={benchseal.__version__} \\\n    --hash=sha256:{digest}\n")
    asked = ["--require-hashes", "--only-binary", ":all:", "--no-index", "--find-links", str(found), "--no-deps"]
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-m", "pip", "install", "--quiet", *asked, "-r", "a.lock", "--target", str(tmp_path / "into")],
        cwd=tmp_path,
        check=False,
        capture_output=True,
        text=True,
    )
    assert (done.returncode != 0) == changed, done.stderr
    assert ("DO NOT MATCH THE HASHES" in done.stderr) == changed
    assert (tmp_path / "into" / "benchseal").exists() != changed
