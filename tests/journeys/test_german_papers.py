"""A customer whose certificates are in German gets everything that goes with them in German."""

from __future__ import annotations

import io
import shutil
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_after_release import issued
from tests.journeys.test_corrections import good, whole
from tests.journeys.test_withdrawal_notice import printed_texts

from benchseal.certificate.page_text import page_texts

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

WHY = "die Probe stammte aus einer anderen Charge"


def german(line: Line) -> str:
    """The number of an issued certificate of the customer with a German form."""
    number = str(good(line("certificate", "draft", "B-4", "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    return number


def text_of(pdf: Path) -> str:
    with pikepdf.open(io.BytesIO(pdf.read_bytes())) as pages:
        assert str(pages.Root.Lang) == "de"
        return " ".join(" ".join(page_texts(pages)).split())


@pytest.mark.clause("17025 7.8.8")
def test_a_german_certificate_is_withdrawn_in_german(line: Line) -> None:
    number = german(line)
    good(line("certificate", "withdraw", number, "--reason", WHY, "--json", by=(APPROVER,)))
    notice = line.site / "certificates" / f"{number}-W.pdf"
    text = text_of(notice)
    for words in (f"Zertifikat {number} ist zurückgezogen.", WHY, "Auftraggeber", "Charge B-4", "Was zu tun ist"):
        assert words in text, words
    said = line("verify", str(notice), "--language", "de")
    assert (said.code, said.out.split()[0]) == (0, "GENUINE"), said.out
    assert "(echt) eine Mitteilung über eine Zurückziehung" in said.out
    assert f"Mitteilung: {number}-W" in said.out
    assert "ja    gedruckter Wortlaut: Zertifikat, Charge, Grund" in said.out
    assert not {"the", "withdrawn", "approver", "signed"} & set(said.out.split())
    assert whole(line)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
def test_a_paper_copy_says_what_it_is_in_german(line: Line, tmp_path: Path) -> None:
    number = german(line)
    printed = ("certificate", "print", number, "--reason", "asked", "--to", "J. Reed", "--json", "--out")
    good(line(*printed, str(tmp_path / "1.pdf"), by=(ANALYST,)))
    good(line("certificate", "withdraw", number, "--reason", WHY, "--json", by=(APPROVER,)))
    good(line(*printed, str(tmp_path / "2.pdf"), by=(ANALYST,)))
    for copy, standing in ((1, ""), (2, "ZURÜCKGEZOGEN. ")):
        for page in printed_texts(tmp_path / f"{copy}.pdf"):
            assert f"{standing}Papierkopie {copy} von {number}, für J. Reed. Gedruckt " in page
            assert "Nicht gesiegelt: Nur die Datei dieses Zertifikats lässt sich prüfen." in page
            assert "Paper copy" not in page
        with pikepdf.open(tmp_path / f"{copy}.pdf") as pages:
            assert str(pages.docinfo["/Title"]) == f"Papierkopie {copy} von {number}"
