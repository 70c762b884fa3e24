"""``verify --language``: what is explained changes, the words of the verdict, exit codes and ``--json`` do not."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benchseal.cli import main

KEPT = Path(__file__).parents[2] / "fixtures" / "certificates" / "wording-3-english.pdf"
TRUST = ("--trust", str(KEPT.with_suffix(".trust.json")))


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as ended:
        raise SystemExit(main(["verify", *words]))
    return int(str(ended.value.code)), capsys.readouterr().out


def test_a_genuine_file_is_explained_in_german(capsys: pytest.CaptureFixture[str]) -> None:
    code, out = said(capsys, str(KEPT), *TRUST, "--language", "de")
    first, _, *lines = out.splitlines()
    assert (code, first) == (0, "GENUINE")
    assert "ja    Siegel: es umfasst die ganze Datei, hält und erlaubt keine Änderung." in lines
    assert not any(line.startswith(("yes", "NO ", "open")) for line in lines)


def test_an_altered_file_is_explained_in_german(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    whole = bytearray(KEPT.read_bytes())
    whole[50_000] ^= 1
    altered = tmp_path / "altered.pdf"
    altered.write_bytes(whole)
    code, out = said(capsys, str(altered), *TRUST, "--language", "de")
    assert (code, out.splitlines()[0]) == (6, "ALTERED")
    assert "NEIN  Siegel: Dies ist nicht die Datei, die gesiegelt wurde" in out


def test_english_is_what_it_was(capsys: pytest.CaptureFixture[str]) -> None:
    _, usual = said(capsys, str(KEPT), *TRUST)
    _, asked = said(capsys, str(KEPT), *TRUST, "--language", "en")
    assert usual == asked
    assert "yes  seal: it covers the whole file, holds, and permits no change." in usual


def test_json_is_the_same_in_both(capsys: pytest.CaptureFixture[str]) -> None:
    _, english = said(capsys, str(KEPT), *TRUST, "--json")
    _, german = said(capsys, str(KEPT), *TRUST, "--json", "--language", "de")
    assert json.loads(english) == json.loads(german)


def test_no_trust_is_unknown_in_german_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("BENCHSEAL_TRUST", raising=False)
    code, out = said(capsys, str(KEPT), "--language", "de")
    assert (code, out.splitlines()[0]) == (3, "UNKNOWN")
    assert "Vertrauen aus nirgends" in out
    assert "offen Siegelschlüssel: Es wurde keine Vertrauensdatei genannt." in out


def test_another_language_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = said(capsys, str(KEPT), "--language", "fr")
    assert code != 0
