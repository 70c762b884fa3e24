"""``verify`` of many files: on several processors, by itself where there are none, the same lines in the same order."""

from __future__ import annotations

import json
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import NoReturn

import pytest

from benchseal.cli import main, verify_many

KEPT = Path(__file__).parents[2] / "fixtures" / "certificates" / "wording-3-english.pdf"
TRUST = ("--trust", str(KEPT.with_suffix(".trust.json")))
COUNT = verify_many.FEWEST + 3


@pytest.fixture
def names(tmp_path: Path) -> list[str]:
    """Copies, all but the third and the last of them altered: a file that is altered is told quickly."""
    whole, found = KEPT.read_bytes(), []
    for number in range(COUNT):
        own = bytearray(whole)
        if number not in {2, COUNT - 1}:
            own[40_000 + number] ^= 1
        path = tmp_path / f"{number:02}.pdf"
        path.write_bytes(own)
        found.append(str(path))
    return found


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["verify", *words, *TRUST])
    out = capsys.readouterr()
    return code, out.out, out.err


def alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(verify_many, "_processors", lambda: 1)


def together(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(verify_many, "_processors", lambda: 2)


def never(*_: object) -> NoReturn:
    raise AssertionError("each file is checked in another process")


def test_the_same_is_said_of_each_file(
    names: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    alone(monkeypatch)
    by_itself = said(capsys, *names), said(capsys, "--json", *names)
    together(monkeypatch)
    monkeypatch.setattr(verify_many, "judge", never)
    assert (said(capsys, *names), said(capsys, "--json", *names)) == by_itself
    code, out, _ = by_itself[0]
    assert code == 6
    lines = out.splitlines()
    assert [line.split()[0] for line in lines[:COUNT]] == [
        "GENUINE" if number in {2, COUNT - 1} else "ALTERED" for number in range(COUNT)
    ]
    assert [line.split()[1].rstrip(":") for line in lines[:COUNT]] == names
    assert lines[-1].startswith(f"{COUNT} files: 2 GENUINE, {COUNT - 2} ALTERED")


def test_a_file_that_cannot_be_read_hides_no_other(
    names: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    names[5] += ".away"
    alone(monkeypatch)
    by_itself = said(capsys, *names)
    together(monkeypatch)
    assert said(capsys, *names) == by_itself
    code, out, err = by_itself
    assert code == 6
    lines = out.splitlines()
    assert [line.split()[1].rstrip(":") for line in lines[: COUNT - 1]] == [*names[:5], *names[6:]]
    assert lines[-1].startswith(f"{COUNT} files: 2 GENUINE, {COUNT - 3} ALTERED, 1 not read;")
    assert err == f"file.missing: {names[5]}: there is no such file. Check the name.\n"


@pytest.mark.parametrize("many", [False, True])
def test_beside_good_ones_a_missing_file_is_bad_input(
    names: list[str], *, many: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    gone = str(tmp_path / "gone.pdf")
    code, out, err = said(capsys, *([names[2], gone, names[-1]] if many else [gone]))
    assert code == 4
    assert err.startswith("file.missing: ")
    assert out.count("GENUINE") == (3 if many else 0)  # two lines, and the count
    code, out, _ = said(capsys, "--json", gone, names[2])
    told = json.loads(out)
    assert (code, told["exit"]) == (4, 4)
    assert [one["file"] for one in told["certificates"]] == [names[2]]
    assert [one["where"] for one in told["problems"]] == [gone]


@pytest.mark.parametrize("fault", [OSError("no more processes"), BrokenProcessPool("one was ended")])
@pytest.mark.parametrize("after", [0, 4])
def test_where_no_process_can_be_had_it_goes_on_by_itself(
    names: list[str], after: int, fault: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the file on at which the others were lost; none is left out, none comes twice."""
    asked = verify_many.Asked(None, None, redraw=False)
    alone(monkeypatch)
    due = list(verify_many.judged(names, asked))
    together(monkeypatch)

    def lost(some: list[str], of: verify_many.Asked, _: int) -> object:
        for name in some[:after]:
            yield verify_many._here(name, of)  # noqa: SLF001  what the other process calls
        raise fault

    monkeypatch.setattr(verify_many, "_together", lost)
    assert list(verify_many.judged(names, asked)) == due
    assert len(due) == COUNT


def test_few_files_start_no_process(
    names: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    together(monkeypatch)
    monkeypatch.setattr(verify_many, "_together", never)
    assert said(capsys, *names[: verify_many.FEWEST - 1])[0] == 6
