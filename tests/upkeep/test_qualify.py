"""Qualification: an installation that is not whole and a program that does not do its work are named."""

from __future__ import annotations

import shutil
from dataclasses import replace
from importlib import metadata
from typing import TYPE_CHECKING

import pytest
from tests.conftest import cheap_hashes

from benchseal import shipped
from benchseal.desk.checking import SiteReport
from benchseal.desk.qualification import differences
from benchseal.desk.site import open_site
from benchseal.problems import Stopped
from benchseal.records.qualification import InstalledFile, QualificationTest, verdict_of
from benchseal.records.shape import read_record, record_bytes
from benchseal.upkeep import installation, operation
from benchseal.upkeep.installation import installation_tests, installed
from benchseal.upkeep.operation import operation_tests, published_tests
from benchseal.upkeep.qualify import own_examples, qualification_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.conftest import Bench

    from benchseal.demo.play import Played
    from benchseal.desk.site import Site

LOCK = shipped.lock()


def outcomes(tests: tuple[QualificationTest, ...]) -> dict[str, str]:
    return {one.id: one.outcome for one in tests}


def lent(played: Played) -> Callable[[Path], Played]:
    """The demo, played once, in place of one played anew."""

    def try_out(folder: Path) -> Played:
        shutil.copytree(played.site.folder, folder)
        return replace(played, site=open_site(folder, hashes=cheap_hashes))

    return try_out


def add_file(distribution: Path, name: str, data: bytes, listed: bytes) -> None:
    """A file of an installed package, and its line in the package's list, as a wheel writes it."""
    import base64  # noqa: PLC0415
    import hashlib  # noqa: PLC0415

    (distribution.parent / name).parent.mkdir(parents=True, exist_ok=True)
    (distribution.parent / name).write_bytes(data)
    digest = base64.urlsafe_b64encode(hashlib.sha256(listed).digest()).rstrip(b"=").decode()
    with (distribution / "RECORD").open("a", encoding="utf-8") as record:
        record.write(f"{name},sha256={digest},{len(listed)}\n")


@pytest.fixture
def wheel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """What stands in for the installed wheel of benchseal: a list of two files, and the files."""
    folder = tmp_path / "benchseal-0.1.0.dist-info"
    folder.mkdir()
    (folder / "METADATA").write_text("Metadata-Version: 2.1\nName: benchseal\nVersion: 0.1.0\n", encoding="utf-8")
    for name in ("benchseal/__init__.py", "benchseal/compute/fit.py"):
        add_file(folder, name, b"whole\n", b"whole\n")
    real = metadata.distribution
    own = metadata.PathDistribution(folder)
    monkeypatch.setattr(metadata, "distribution", lambda name: own if name == "benchseal" else real(name))
    return tmp_path


# ------------------------------------------------------------------ installation


@pytest.mark.clause("A11 4", "P11 11.10(a)", "17025 7.11.2")
def test_a_whole_installation_passes(bench: Bench, wheel: Path) -> None:
    tests = tuple(installation_tests(bench.site))
    assert set(outcomes(tests).values()) == {"passed"}, [one for one in tests if one.outcome != "passed"]
    assert wheel.is_dir()


@pytest.mark.refuses("A11 4", "P11 11.10(a)", "17025 7.11.2")
@pytest.mark.parametrize(("name", "word"), [("benchseal/compute/fit.py", "altered"), ("benchseal/__init__.py", "gone")])
def test_one_file_altered_or_gone_fails_naming_it(bench: Bench, wheel: Path, name: str, word: str) -> None:
    if word == "gone":
        (wheel / name).unlink()
    else:
        (wheel / name).write_bytes(b"whole \n")
    (failed,) = [one for one in installation_tests(bench.site) if one.outcome != "passed"]
    assert (failed.id, failed.outcome) == ("files", "failed")
    assert name in failed.why
    assert word in failed.why


def test_a_checkout_has_nothing_to_compare_with_and_says_so(bench: Bench) -> None:
    files = next(one for one in installation_tests(bench.site) if one.id == "files")
    assert files.outcome in {"left out", "passed"}  # passed where the wheel itself is tested
    assert files.outcome == "passed" or "checkout" in files.why


@pytest.mark.refuses("A11 4")
@pytest.mark.parametrize(
    ("change", "failing"),
    [
        pytest.param(
            lambda m: m.setattr(shipped, "lock", lambda: LOCK.replace(b"numpy==", b"numpy==9.")), "libraries-locked",
            id="a library of another version",
        ),
        pytest.param(lambda m: m.setattr(installation, "HIGHEST", (3, 10)), "python", id="a Python not known"),
        pytest.param(
            lambda m: m.setattr(installation, "network_file_system", lambda _: "nfs4"), "disk", id="a network disk"
        ),
        pytest.param(
            lambda m: m.setattr(installation, "_not_loaded", lambda: iter(["weasyprint: no pango"])), "pages",
            id="no page library",
        ),
    ],
)  # fmt: skip
def test_what_an_installation_lacks_is_named(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, change: Callable[[pytest.MonkeyPatch], None], failing: str
) -> None:
    change(monkeypatch)
    failed = [one for one in installation_tests(bench.site) if one.outcome == "failed"]
    assert [one.id for one in failed] == [failing]
    assert failed[0].why


@pytest.mark.refuses("A11 4")
def test_a_trigger_taken_away_and_a_clock_behind_are_named(bench: Bench) -> None:
    import sqlite3  # noqa: PLC0415
    from contextlib import closing  # noqa: PLC0415
    from datetime import timedelta  # noqa: PLC0415

    with closing(sqlite3.connect(bench.site.folder / "store.sqlite")) as store:
        store.execute("DROP TRIGGER ledger_no_update")
        store.commit()
    bench.clock.now -= timedelta(days=1)
    failed = [one.id for one in installation_tests(bench.site) if one.outcome == "failed"]
    assert failed == ["store", "clock"]


def test_what_is_installed_is_told_and_each_difference_named() -> None:
    found = installed()
    assert read_record(type(found), record_bytes(found)) == found
    assert {"compute/fit.py", "schemas/method.schema.json", "requirements/runtime.lock"} <= {
        one.name for one in found.files
    }
    assert {"numpy", "sqlalchemy", "weasyprint", "cryptography"} <= {one.name for one in found.packages}
    assert list(differences(found, found)) == []
    other = replace(
        found, python="CPython 3.99.0", files=(*found.files[1:], InstalledFile("compute/new.py", "ab" * 32)),
        packages=(replace(found.packages[0], version="0.0.1"), *found.packages[1:]),
    )  # fmt: skip
    said = list(differences(found, other))
    assert other.figures != found.figures
    assert [line.split(":")[0] for line in said] == [
        "python", f"file {found.files[0].name}", "file compute/new.py", f"library {found.packages[0].name}",
    ]  # fmt: skip


# ------------------------------------------------------------------ operation


@pytest.mark.clause("A11 4", "17025 7.11.2")
def test_the_published_examples_come_out_here() -> None:
    assert set(outcomes(tuple(published_tests())).values()) == {"passed"}


@pytest.mark.refuses("A11 4", "17025 7.11.2")
def test_a_wrong_value_planted_in_the_examples_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    text = shipped.starter(operation.EXAMPLES)
    assert '"0.0087"' in text
    monkeypatch.setattr(shipped, "starter", lambda _: text.replace('"0.0087"', '"0.0088"'))
    (failed,) = [one for one in published_tests() if one.outcome == "failed"]
    assert failed.id == "quam-a5-cadmium"
    assert "coefficients/0 is 0.0087, due is 0.0088" in failed.why


@pytest.mark.clause("A11 4", "P11 11.10(a)")
def test_a_laboratory_taken_the_whole_way_does_refuses_and_finds(played: Played) -> None:
    tests = tuple(operation_tests(lent(played)))
    assert [one for one in tests if one.outcome != "passed"] == []
    assert {
        "whole-way", "bad-file", "exceedance", "wrong-password", "analyst-reviews", "administrator-reviews",
        "no-reason", "certificate", "seal-unknown", "backup", "backup-altered", "ledger-altered",
        "signature-altered", "end-cut-off",
    } == {one.id for one in tests}  # fmt: skip


@pytest.mark.refuses("A11 4", "P11 11.10(a)")
def test_a_program_that_finds_and_refuses_nothing_fails(played: Played, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each check blinded in turn: the test that stands on it fails, and says what came out."""
    whole = SiteReport(1, 1, "", anchored=False, findings=())
    monkeypatch.setattr(operation, "verify_site", lambda *_: whole)
    monkeypatch.setattr(operation, "admit", lambda *_: None)
    monkeypatch.setattr(operation, "unpacked", _anything(played))
    tests = tuple(operation_tests(lent(replace(played, whole=False, refused=(), held=()))))
    assert {one.id for one in tests if one.outcome == "failed"} == {
        "whole-way", "bad-file", "exceedance", "wrong-password", "backup-altered", "ledger-altered",
        "signature-altered", "end-cut-off",
    }  # fmt: skip
    assert all(one.why for one in tests if one.outcome == "failed")


def _anything(played: Played) -> Callable[[Path], object]:
    from contextlib import contextmanager  # noqa: PLC0415

    @contextmanager
    def unpacked(_: Path):  # type: ignore[no-untyped-def]  # noqa: ANN202  a stand-in
        yield played.site, None

    return unpacked


# ------------------------------------------------------------------ the whole


def test_the_same_installation_gives_the_same_bytes_again(bench: Bench, played: Played) -> None:
    """What is signed is what was looked at: no time, number or path of the moment is in it."""

    def made(site: Site) -> bytes:
        return record_bytes(qualification_of(site, lent(played), (), "iq", "oq"))

    assert made(bench.site) == made(bench.site)


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        ((), "incomplete"),
        (("passed",), "passed"),
        (("passed", "left out"), "incomplete"),
        (("left out", "failed", "passed"), "failed"),
    ],
)
def test_the_verdict_is_no_better_than_its_worst_test(words: tuple[str, ...], verdict: str) -> None:
    tests = tuple(QualificationTest("operation", word, "a", "b", "c", word) for word in words)  # type: ignore[arg-type]
    assert verdict_of(tests) == verdict


@pytest.mark.parametrize("data", [b"no JSON", b"[]", b'{"examples": [1]}', b'{"examples": [], "examples": []}'])
def test_a_file_of_own_examples_that_is_none_is_refused(data: bytes) -> None:
    with pytest.raises(Stopped) as stop:
        own_examples(data, "own.json")
    assert [(one.code, one.where) for one in stop.value.notices] == [("qualify.examples", "own.json")]
