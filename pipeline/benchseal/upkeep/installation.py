"""What is installed on this machine, and whether it is whole: the first half of a qualification.

A wheel brings a list of its files with their digests, and so does every library. A checkout has no such list of its
own files; that test is left out then, and says so.
"""

from __future__ import annotations

import base64
import hashlib
import platform
import re
import sys
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchseal import __version__, shipped
from benchseal.desk.clock import moment_of
from benchseal.problems import Stopped
from benchseal.records.canonical import digest
from benchseal.records.entries import read_entry
from benchseal.records.qualification import Installation, InstalledFile, InstalledPackage, QualificationTest
from benchseal.records.results import CALCULATION_RULES
from benchseal.store.disks import network_file_system
from benchseal.store.replay import schema_differences

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.desk.site import Site

PACKAGE: Final = "benchseal"
LOWEST, HIGHEST = (3, 11), (3, 14)
_NAME = re.compile(r"[A-Za-z0-9._-]+")
_PIN = re.compile(r"^([a-z0-9._-]+)==([^ ;\\]+)", re.MULTILINE)
_SHOWN: Final = 5  # names of files in one line


def installed() -> Installation:
    """What is installed here. Reads every file of the program, and of each library only the list of its files."""
    return Installation(
        program=__version__,
        calculation_rules=CALCULATION_RULES,
        python=f"{platform.python_implementation()} {platform.python_version()}",
        system=f"{platform.system()} {platform.machine()}",
        lock_sha256=digest(shipped.lock()),
        files=tuple(InstalledFile(name, digest(data)) for name, data in shipped.all_files()),
        packages=tuple(
            InstalledPackage(name, found.version, digest((found.read_text("RECORD") or "").encode()))
            for name, found in sorted(_libraries().items())
        ),
    )


def installation_tests(site: Site) -> Iterator[QualificationTest]:
    """Whether program, libraries, Python and the site's place are as they have to be."""
    yield _own_files()
    libraries = _libraries()
    yield _test(
        "libraries-whole", "libraries are as they were installed (11.10(a))", "every file as in its package's list",
        [f"{name}: {one}" for name, found in sorted(libraries.items()) for one in _altered(found)],
    )  # fmt: skip
    yield _test(
        "libraries-locked", "libraries are those this version was tested with (EU GMP Annex 11, 4)",
        "the versions of the lock file", list(_not_locked(libraries)),
    )  # fmt: skip
    here = sys.version_info[:2]
    yield _test(
        "python", "Python is one this program runs on", f"{_dotted(LOWEST)} to {_dotted(HIGHEST)}",
        [] if LOWEST <= here <= HIGHEST else [f"Python {_dotted(here)}"],
    )  # fmt: skip
    yield _test(
        "floats", "numbers of the machine are IEEE 754 doubles, rounded to even", "53 bits, 2^53 + 1 is 2^53",
        [] if sys.float_info.mant_dig == 53 and 2.0**53 + 1.0 == 2.0**53 else ["they are not"],
    )  # fmt: skip
    yield _test("pages", "the libraries that draw and seal pages load", "they load", list(_not_loaded()))
    yield from _place(site)


def _own_files() -> QualificationTest:
    asks, due = "the program's files are those of its wheel (11.10(a))", "every file as in the wheel's list"
    listed = [one for one in metadata.distribution(PACKAGE).files or [] if one.parts[0] == PACKAGE and one.hash]
    if not listed:
        why = "this is a checkout, not an installed wheel: there is no list to compare with."
        return QualificationTest("installation", "files", asks, due, "no list", "left out", why)
    return _test("files", asks, due, _altered(metadata.distribution(PACKAGE)))


def _place(site: Site) -> Iterator[QualificationTest]:
    kind = network_file_system(site.folder)
    yield _test(
        "disk", "the site is on a local disk", "a local disk", [f"a network file system ({kind})"] if kind else []
    )  # fmt: skip
    with site.store.reading() as view:
        wrong = [f"{one.where} {one.what}" for one in schema_differences(view)]
        last = next(view.entries(view.size()), None) if view.size() else None
    yield _test("store", "tables and triggers are this program's (11.10(e))", "none missing, added or altered", wrong)
    behind = bool(last and moment_of(read_entry(last[1]).at) > site.clock())
    yield _test(
        "clock", "the clock is not behind the ledger (11.10(e))", "not before the last entry",
        ["it is before the last entry"] if behind else [],
    )  # fmt: skip


def _libraries() -> dict[str, metadata.Distribution]:
    """Every library the program needs, and what those need, as far as they are installed."""
    found: dict[str, metadata.Distribution] = {}
    waiting = [PACKAGE]
    while waiting:
        for wanted in metadata.distribution(waiting.pop()).requires or []:
            matched = _NAME.match(wanted)
            name = _normal(matched[0]) if matched else ""
            if "extra ==" in wanted or name in found:
                continue
            try:
                found[name] = metadata.distribution(name)
            except metadata.PackageNotFoundError:
                continue  # for another system; what is needed here and missing does not load
            waiting.append(name)
    return found


def _normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _altered(found: metadata.Distribution) -> list[str]:
    """Files of a package that are not what its list says. Lists hold SHA-256 as unpadded base64."""
    wrong = []
    for one in found.files or []:
        if one.hash is None or one.hash.mode != "sha256" or one.parts[0] == "..":
            continue  # scripts are written anew where they are put
        try:
            with Path(str(found.locate_file(one))).open("rb") as file:
                data = hashlib.file_digest(file, "sha256").digest()
        except OSError:
            wrong.append(f"{one} is gone")
            continue
        if base64.urlsafe_b64encode(data).rstrip(b"=").decode() != one.hash.value:
            wrong.append(f"{one} was altered")
    return wrong


def _not_locked(libraries: Mapping[str, metadata.Distribution]) -> Iterator[str]:
    locked = dict(_PIN.findall(shipped.lock().decode()))
    for name, found in sorted(libraries.items()):
        if found.version != locked.get(name):
            yield f"{name} is {found.version}, the lock file has {locked.get(name, 'none')}"


def _not_loaded() -> Iterator[str]:
    from importlib import import_module  # noqa: PLC0415

    for name in ("weasyprint", "pyhanko.sign.signers", "pikepdf"):
        try:
            import_module(name)
        except (ImportError, OSError, Stopped) as fault:
            yield f"{name}: {fault}"


def _dotted(version: tuple[int, ...]) -> str:
    return ".".join(map(str, version))


def _test(name: str, asks: str, due: str, wrong: list[str]) -> QualificationTest:
    """Passed where nothing is wrong; else what is."""
    if not wrong:
        return QualificationTest("installation", name, asks, due, "as due", "passed")
    why = "; ".join(wrong[:_SHOWN]) + (f", and {len(wrong) - _SHOWN} more" if len(wrong) > _SHOWN else "")
    return QualificationTest("installation", name, asks, due, f"{len(wrong)} otherwise", "failed", why)
