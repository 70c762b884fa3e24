"""The check as other programs call it, and the example of the manual."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from benchseal.verify.judge import exit_code, judge, judge_all, read_trust_file
from benchseal.verify.trust import Trust

if TYPE_CHECKING:
    from benchseal.demo.play import Played

ROOT = Path(__file__).parents[2]
MANUAL = ROOT / "docs" / "manual" / "checking-a-certificate.md"


@pytest.fixture(scope="module")
def pdf(played: Played) -> bytes:
    return (played.site.certificates / f"{played.certificates[0]}.pdf").read_bytes()


@pytest.fixture(scope="module")
def trust(played: Played) -> Trust:
    found = read_trust_file((played.site.folder / "trust.json").read_bytes())
    assert isinstance(found, Trust)
    return found


def test_bytes_in_a_judgement_out(pdf: bytes, trust: Trust) -> None:
    one = judge(pdf, trust)
    plain = one.plain()
    assert (one.word, plain["word"], exit_code([one])) == ("GENUINE", "GENUINE", 0)
    assert (plain["certificate"], plain["standing"]) == (one.report.number, None)
    assert one.lines()[0] == "GENUINE"
    assert json.loads(json.dumps(plain)) == plain


@pytest.mark.parametrize("rubbish", [b"", b"\0" * 99, b"%PDF-1.7", b"%PDF-1.7\n/ByteRange [0 1 2 3]", b"{}" * 5000])
def test_rubbish_is_a_judgement_too(rubbish: bytes, trust: Trust) -> None:
    one = judge(rubbish, trust)
    assert one.word != "GENUINE"
    assert one.report.number == ""
    assert all(check["said"] for check in one.plain()["checks"])  # type: ignore[union-attr, call-overload, index]


def test_the_worst_of_several_decides(pdf: bytes, trust: Trust) -> None:
    altered = pdf[:9000] + bytes((pdf[9000] ^ 1,)) + pdf[9001:]
    every = judge_all([pdf, b"", altered], trust)
    assert [one.word for one in every] == ["GENUINE", "UNKNOWN", "ALTERED"]
    assert [exit_code(every[:count]) for count in range(4)] == [3, 0, 3, 6]


def test_a_stranger_to_the_trust_learns_nothing_of_the_file(pdf: bytes) -> None:
    """Texts of a file are said only when its seal holds under a trusted key."""
    plain = judge(pdf, None).plain()
    assert plain["word"] == "UNKNOWN"
    assert {plain[name] for name in ("certificate", "laboratory", "sample", "says", "sealed_by")} == {""}


@pytest.mark.parametrize(
    "data", [b"", b"[]", b"{", b'{"schema":"trust/1"}', b'{"schema":"trust/1","schema":"trust/1"}']
)
def test_a_useless_trust_file_is_problems(data: bytes) -> None:
    found = read_trust_file(data, "theirs")
    assert isinstance(found, tuple)
    assert found
    assert all(problem.remedy for problem in found)


def test_the_example_of_the_manual_runs(played: Played, tmp_path: Path) -> None:
    (example,) = re.findall(r"```python\n(.*?)```", MANUAL.read_text(encoding="utf-8"), re.DOTALL)
    number = played.certificates[0]
    for name, source in (("trust.json", played.site.folder), (f"{number}.pdf", played.site.certificates)):
        (tmp_path / name.replace(number, "C-2026-00001")).write_bytes((source / name).read_bytes())
    command = [sys.executable, "-c", example]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False, env=dict(os.environ))  # noqa: S603
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[:2] == ["GENUINE", "GENUINE"]
    assert lines[-1] == number
    assert sorted(path.name for path in tmp_path.iterdir()) == ["C-2026-00001.pdf", "trust.json"]
