"""The sheet for customers: one page, A4 and Letter, with the fingerprint in force and the words of the check."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pikepdf
import pytest

from benchseal.certificate.page_text import page_texts
from benchseal.cli import main
from benchseal.cli.instruction import sheet_of
from benchseal.ledger.key_history import Revoked
from benchseal.verify.judge import read_trust_file
from benchseal.verify.report import MEANS
from benchseal.verify.trust import Trust

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.demo.play import Played

SIZES = {"a4": (595, 842), "letter": (612, 792)}


@pytest.fixture(scope="module")
def trust(played: Played) -> Trust:
    found = read_trust_file((played.site.folder / "trust.json").read_bytes())
    assert isinstance(found, Trust)
    return found


@pytest.mark.parametrize("paper", SIZES)
def test_one_page_of_each_paper(played: Played, trust: Trust, tmp_path: Path, paper: str) -> None:
    file = tmp_path / "sheet.pdf"
    words = ("report", "how-to-check", "--pdf", str(file), "--paper", paper, "--site", str(played.site.folder))
    assert main([*words]) == 0
    with pikepdf.open(io.BytesIO(file.read_bytes())) as pdf:
        assert len(pdf.pages) == 1
        assert tuple(round(float(corner)) for corner in pdf.pages[0].obj.MediaBox[2:]) == SIZES[paper]
        text = " ".join(" ".join(page_texts(pdf)).split())
    assert trust.seals[0].fingerprint in text.replace(" ", "")
    for word, means in MEANS.items():
        assert f"{word} {means[0].upper()}{means[1:]}." in text
    assert "benchseal verify C-2026-00001.pdf --trust trust.json" in text
    assert trust.laboratory in text


def test_nothing_is_overwritten(played: Played, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "sheet.pdf"
    file.write_bytes(b"mine")
    assert main(["report", "how-to-check", "--pdf", str(file), "--site", str(played.site.folder)]) == 4
    assert file.read_bytes() == b"mine"
    assert "nothing is ever overwritten" in capsys.readouterr().err


def test_without_a_trust_file_there_is_no_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", "how-to-check", "--pdf", str(tmp_path / "a.pdf"), "--site", str(tmp_path)]) == 4
    assert "report.no-trust" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_only_the_fingerprint_in_force_is_printed(trust: Trust) -> None:
    old = replace(trust.seals[0], fingerprint="0" * 64, until_entry=90)
    lost = replace(
        trust.seals[0], fingerprint="1" * 64, revoked=Revoked("2026-01-01", "2026-01-02", "stolen", frozenset())
    )
    sheet = sheet_of(replace(trust, seals=(old, lost, trust.seals[0])), date(2026, 11, 26))
    assert [one.replace(" ", "") for one in sheet.prints] == [trust.seals[0].fingerprint]
    assert sheet.prints_said == "2 earlier ones stand in the trust file."
    nothing = sheet_of(replace(trust, seals=(old, lost)), date(2026, 11, 26))
    assert nothing.prints == ("none is in force: ask the laboratory",)


def test_the_sheet_in_german(played: Played, trust: Trust, tmp_path: Path) -> None:
    file = tmp_path / "blatt.pdf"
    words = ("report", "how-to-check", "--language", "de", "--pdf", str(file), "--site", str(played.site.folder))
    assert main([*words]) == 0
    with pikepdf.open(io.BytesIO(file.read_bytes())) as pdf:
        assert str(pdf.Root.Lang) == "de"
        assert len(pdf.pages) == 1
        text = " ".join(" ".join(page_texts(pdf)).split())
    assert trust.seals[0].fingerprint in text.replace(" ", "")
    assert "Wie man ein Zertifikat prüft" in text
    assert "--trust trust.json --language de" in text
    assert "Seite 1 von 1" in text
    for word in MEANS:
        assert word in text.split()
    for english in ("certificate proves", "laboratory", "How to", "Ask "):
        assert english not in text.replace(trust.laboratory, "")
    assert sheet_of(trust, date(2026, 11, 26)).made_on == "26 November 2026"
    assert sheet_of(trust, date(2026, 11, 26), "de").made_on == "26. November 2026"
    nothing = sheet_of(replace(trust, seals=(replace(trust.seals[0], until_entry=90),)), date(2026, 11, 26), "de")
    assert (nothing.prints, nothing.prints_said) == (
        ("keiner gilt: fragen Sie das Labor",),
        "In der Vertrauensdatei steht 1 früherer.",
    )
