"""Builds the wheel twice, installs it in an empty environment and asks it, away from the checkout.

Checked: both wheels have the same bytes; the installed package has exactly the files of ``schemas/`` and
``report_templates/``, with the same bytes, and reads them through ``benchseal.shipped``; ``benchseal --version``
answers with the project's version and needs nothing else installed. Exit code 0 only if all of it holds.
Needs no network. Each argument is a Python to try; by default the one this runs on.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
FOLDERS = ("schemas", "report_templates")

# Any time after 1980 will do: it becomes the time of each file in the wheel.
BUILD_TIME = "1767225600"

# Printed by the installed package: digest and name of each shipped file as ``shipped`` finds it.
LIST_SHIPPED = f"""
import hashlib
from benchseal import shipped
def walk(folder, name):
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from walk(entry, f"{{name}}/{{entry.name}}")
        else:
            yield f"{{name}}/{{entry.name}}", hashlib.sha256(entry.read_bytes()).hexdigest()
for folder in {FOLDERS}:
    for name, digest in walk(shipped._home().joinpath(folder), folder):
        print(digest, name)
"""


def run(*command: str | Path, cwd: Path) -> str:
    """What ``command`` prints. Ends the check with what it said if it fails."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    ran = subprocess.run(  # noqa: S603  commands of this file only
        [str(part) for part in command],
        cwd=cwd,
        env=environment | {"SOURCE_DATE_EPOCH": BUILD_TIME},
        check=False,
        capture_output=True,
        encoding="utf-8",
    )
    if ran.returncode != 0:
        sys.exit(f"release-check: {' '.join(map(str, command))}\n{ran.stdout}{ran.stderr}")
    return ran.stdout


def require(holds: bool, what: str) -> None:
    """Prints that ``what`` holds, or ends the check."""
    if not holds:
        sys.exit(f"release-check: FAILED: {what}")
    print(f"release-check: {what}")


def build(into: Path) -> Path:
    """A wheel of the checkout."""
    run(sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", into, cwd=ROOT)
    (wheel,) = into.glob("*.whl")
    return wheel


def kept() -> set[str]:
    """Digest and name of each file the checkout keeps for shipping."""
    return {
        f"{hashlib.sha256(path.read_bytes()).hexdigest()} {path.relative_to(ROOT).as_posix()}"
        for folder in FOLDERS
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
    }


def check_installed(wheel: Path, python: str, away: Path) -> None:
    """Installs ``wheel`` alone in an empty environment under ``away`` and asks it."""
    away.mkdir()
    version = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    run(python, "-m", "venv", away / "environment", cwd=away)
    programs = away / "environment" / ("Scripts" if os.name == "nt" else "bin")
    run(programs / "python", "-m", "pip", "install", "--no-deps", "--no-index", wheel, cwd=away)
    shipped = set(run(programs / "python", "-c", LIST_SHIPPED, cwd=away).splitlines())
    differing = sorted(line.split(" ", 1)[1] for line in shipped ^ kept())
    named = f" (differing: {', '.join(differing)})" if differing else ""
    require(not differing, f"{python}: the {len(shipped)} shipped files are those of the checkout{named}")
    said = run(programs / "benchseal", "--version", cwd=away).strip()
    require(version in said.split(), f"{python}: benchseal --version says {said!r}, the project {version!r}")


def main() -> None:
    """Every check, for every Python named."""
    with tempfile.TemporaryDirectory(prefix="release-check-") as name:
        work = Path(name)
        first, second = build(work / "first"), build(work / "second")
        require(first.read_bytes() == second.read_bytes(), f"{first.name}: built twice, same bytes")
        for number, python in enumerate(sys.argv[1:] or [sys.executable]):
            check_installed(first, python, work / f"away-{number}")


if __name__ == "__main__":
    main()
