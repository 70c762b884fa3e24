"""A withdrawn certificate and its notice; drafts on paper; numbered copies and who had the file written out."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER
from tests.journeys.test_after_release import CUSTOMER, corrected, issued, number_of, trusted
from tests.journeys.test_corrections import good, refused, whole

from benchseal.certificate.language import ENGLISH
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.read_pdf import NOTICE_FILES, SealedPdf, open_certificate

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

NOT_SEALED = ENGLISH.say("copy/not_sealed")
TO_DO = tuple(ENGLISH.say(f"notice/{key}") for key in ("do_not_use", "tell", "mark", "look", "answer"))
WHY = "the sample was of another lot"


def withdrawn(line: Line) -> str:
    number = number_of(line, "A-1")
    said = line("certificate", "withdraw", number, "--reason", WHY, by=(APPROVER,))
    assert said.code == 0, said.err
    assert f"tell: {CUSTOMER}" in said.out
    assert f"{number}-W.pdf" in said.out
    return number


def notice_of(line: Line, number: str) -> Path:
    return line.site / "certificates" / f"{number}-W.pdf"


def opened(line: Line, number: str) -> SealedPdf:
    found = open_certificate(notice_of(line, number).read_bytes(), frozenset(trusted(line)), files=NOTICE_FILES)
    assert isinstance(found, SealedPdf), found
    return found


def texts_of(pdf: bytes) -> tuple[str, ...]:
    with pikepdf.open(io.BytesIO(pdf)) as pages:
        return page_texts(pages)


@pytest.mark.clause("17025 7.8.8")
def test_a_withdrawn_certificate_has_a_notice_that_verifies(line: Line) -> None:
    number = withdrawn(line)
    found = opened(line, number)
    (page,) = found.pages
    record = json.loads(found.evidence)
    row = line.rows(f"SELECT sealed, state FROM certificate WHERE number = '{number}'")[0]  # noqa: S608
    assert (record["withdrawal"]["sealed"], row[1]) == (row[0], "withdrawn")
    text = " ".join(page.split())
    for said in (f"Certificate {number} is withdrawn.", WHY, "lozenge", "A-1", CUSTOMER, "Ruth Calloway", *TO_DO):
        assert said in text, said
    for line_ in record["lines"]:
        assert f"{line_['substance']} {line_['quantity']}" in text
    assert len(record["lines"]) == 6
    checked = line("verify", str(notice_of(line, number)))
    assert (checked.code, checked.out.split()[0]) == (0, "GENUINE")
    assert f"notice: {number}-W" in checked.out
    assert f"withdraws the file: {row[0]}" in checked.out
    assert whole(line)


@pytest.mark.clause("17025 7.8.8")
def test_a_notice_holds_no_value(line: Line) -> None:
    number = withdrawn(line)
    content = line.rows(f"SELECT content FROM certificate WHERE number = '{number}'")[0][0]  # noqa: S608
    results = line.rows("SELECT value_text, expanded_text FROM result WHERE sample = 'S-00001'")
    values = {text for row in results for text in row if text}
    assert content
    assert values
    found = opened(line, number)
    words = set(found.pages[0].split())
    assert not words & values
    assert not {"±", "complies"} & words


def test_what_follows_a_file_says_withdrawn_for_its_notice_too(line: Line, tmp_path: Path) -> None:
    number = withdrawn(line)
    status = tmp_path / "status.json"
    good(line("certificate", "status-file", "--out", str(status), "--json", by=(ANALYST,)))
    said = line("verify", str(notice_of(line, number)), "--status", str(status))
    assert "WITHDRAWN" in said.out
    assert said.code == 10


@pytest.mark.refuses("P11 11.30")
def test_a_changed_notice_is_not_genuine(line: Line) -> None:
    path = notice_of(line, withdrawn(line))
    whole_file = path.read_bytes()
    for share in (0.05, 0.3, 0.6, 0.9):
        changed = bytearray(whole_file)
        changed[int(len(changed) * share)] ^= 1
        path.write_bytes(bytes(changed))
        assert "GENUINE" not in line("verify", str(path)).out


def test_a_notice_that_is_missing_is_made_without_a_password(line: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    from benchseal.desk import notices  # noqa: PLC0415

    number = number_of(line, "A-1")
    with monkeypatch.context() as broken:
        broken.setattr(notices, "rendered", lambda *_: (_ for _ in ()).throw(OSError(28, "no space left")))
        stopped = line("certificate", "withdraw", number, "--reason", WHY, by=(APPROVER,))
    assert "certificate.notice-waits" in stopped.err
    assert not notice_of(line, number).exists()
    waits = f"doctor.notice: {number}: it is withdrawn, and its notice was not made."
    assert waits in line("doctor", by=(ADMINISTRATOR,)).out
    made = line("certificate", "withdraw", number, "--reason", "again")
    assert made.code == 0, made.err
    assert len(opened(line, number).pages) == 1
    assert len(line.rows("SELECT number FROM certificate_notice")) == 1
    assert "doctor.notice" not in line("doctor", by=(ADMINISTRATOR,)).out
    assert whole(line)


def test_the_notice_goes_with_the_file(line: Line, tmp_path: Path) -> None:
    number = withdrawn(line)
    out = tmp_path / "of-a-customer.pdf"
    good(line("certificate", "show", number, "--pdf", str(out), "--json", by=(ANALYST,)))
    assert (tmp_path / "of-a-customer-withdrawal.pdf").read_bytes() == notice_of(line, number).read_bytes()
    folder = tmp_path / "copy"
    good(line("copy", "--certificate", number, "--out", str(folder), "--json", by=(REVIEWER,)))
    assert (folder / "certificates" / f"{number}-W.pdf").read_bytes() == notice_of(line, number).read_bytes()
    assert line("verify", "--copy", str(folder)).code == 0


@pytest.mark.refuses("17025 7.8.8")
def test_a_reason_that_no_notice_could_print_is_refused(line: Line) -> None:
    number = number_of(line, "A-1")
    before = line.kept()
    refused(
        line("certificate", "withdraw", number, "--reason", "別のロット", by=(APPROVER,)),
        "certificate.character-unprintable",
    )
    assert line.kept() == before


# ------------------------------------------------------------------ on paper


@pytest.mark.clause("17025 7.8.1.2")
def test_a_draft_is_marked_on_every_page(line: Line, tmp_path: Path) -> None:
    first = corrected(line)
    drafted = good(line("certificate", "amend", first, "--reason", "the mass was misread", "--json", by=(ANALYST,)))
    out = tmp_path / "draft.pdf"
    for act in ((), ("approve",)):
        if act:
            good(line("certificate", *act, drafted["number"], "--json", by=(APPROVER,)))
        said = line("certificate", "show", drafted["number"], "--pdf", str(out), by=(ANALYST,))
        assert "a draft, marked on every page" in said.out
        pages = texts_of(out.read_bytes())
        assert len(pages) > 1
        assert all("DRAFT" in page.split() for page in pages)
        assert "signature" not in " ".join(pages)
        with pikepdf.open(out) as pdf:
            assert not pdf.attachments
            assert "/AcroForm" not in pdf.Root
        assert line("verify", str(out)).out.startswith("UNKNOWN")
    good(line("certificate", "return", drafted["number"], "--reason", "later", "--json", by=(APPROVER,)))
    good(line("certificate", "discard", drafted["number"], "--reason", "later", "--json", by=(ANALYST,)))
    refused(line("certificate", "show", drafted["number"], "--pdf", str(out), by=(ANALYST,)), "certificate.not-issued")


@pytest.mark.clause("A11 8.1", "17025 7.8.1.2")
def test_paper_copies_are_numbered_and_on_record(line: Line, tmp_path: Path) -> None:
    number = number_of(line, "A-1")
    sealed = (line.site / "certificates" / f"{number}.pdf").read_bytes()
    for copy, to in enumerate(("J. Reed, purchasing", "the archive room"), start=1):
        out = tmp_path / f"{copy}.pdf"
        said = good(
            line(
                "certificate",
                "print",
                number,
                "--to",
                to,
                "--reason",
                "asked for",
                "--out",
                str(out),
                "--json",
                by=(ANALYST,),
            )
        )
        assert said["copy"] == copy
        pages, before = texts_of(out.read_bytes()), texts_of(sealed)
        assert len(pages) == len(before)
        with pikepdf.open(out) as pdf:
            assert not pdf.attachments
            assert "/AcroForm" not in pdf.Root
        assert line("verify", str(out)).out.startswith("UNKNOWN")
    good(line("certificate", "show", number, "--pdf", str(tmp_path / "own.pdf"), "--json", by=(REVIEWER,)))
    shown = good(line("certificate", "show", number, "--json", by=(ANALYST,)))
    assert [(one["copy"], one["given_to"], one["person"]) for one in shown["copies"]] == [
        ("0001", "J. Reed, purchasing", ANALYST),
        ("0002", "the archive room", ANALYST),
    ]
    assert [(one["person"], one["file"]) for one in shown["files_written"]] == [(REVIEWER, str(tmp_path / "own.pdf"))]
    page = line("certificate", "show", number, by=(ANALYST,)).out
    assert "paper copy 2 for the archive room" in page
    assert f"by {REVIEWER}: {tmp_path / 'own.pdf'}" in page
    assert whole(line)


@pytest.mark.clause("17025 7.8.8")
def test_whoever_has_a_paper_copy_is_told_too(line: Line, tmp_path: Path) -> None:
    number = number_of(line, "A-1")
    printed = ("certificate", "print", number, "--reason", "asked", "--out")
    good(line(*printed, str(tmp_path / "one.pdf"), "--to", "J. Reed", "--json", by=(ANALYST,)))
    withdrawn(line)
    assert good(line("certificate", "show", number, "--json", by=(ANALYST,)))["to_tell"] == [CUSTOMER, "J. Reed"]
    out = tmp_path / "after.pdf"
    said = line(*printed, str(out), "--to", "an inspector", by=(ANALYST,))
    assert "It is withdrawn, and each page says so." in said.out


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
def test_each_page_of_a_paper_copy_says_what_it_is(line: Line, tmp_path: Path) -> None:
    """Read by poppler: the line is drawn over the pages, where our own reader of sealed files does not look."""
    number = number_of(line, "A-1")
    printed = ("certificate", "print", number, "--reason", "asked", "--to", "J. Reed", "--json", "--out")
    good(line(*printed, str(tmp_path / "1.pdf"), by=(ANALYST,)))
    withdrawn(line)
    good(line(*printed, str(tmp_path / "2.pdf"), by=(ANALYST,)))
    for copy, standing in ((1, ""), (2, "WITHDRAWN. ")):
        for page in printed_texts(tmp_path / f"{copy}.pdf"):
            assert f"{standing}Paper copy {copy} of {number}, for J. Reed. Printed " in page
            assert NOT_SEALED in page
            assert page.count("page ") == 1  # the line brings no foot of its own
            assert ("WITHDRAWN" in page) == bool(standing)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
def test_a_copy_of_a_superseded_certificate_names_what_replaced_it(line: Line, tmp_path: Path) -> None:
    first = corrected(line)
    number = str(good(line("certificate", "amend", first, "--reason", "misread", "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    out = tmp_path / "1.pdf"
    printed = ("certificate", "print", first, "--reason", "asked", "--to", "J. Reed", "--out", str(out))
    assert "It is superseded, and each page says so." in line(*printed, by=(ANALYST,)).out
    for page in printed_texts(out):
        assert f"SUPERSEDED, replaced by {number}. Paper copy 1 of {first}, for J. Reed." in page


def printed_texts(pdf: Path) -> list[str]:
    """Text of each page, white space made plain."""
    done = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True)  # noqa: S603, S607
    pages = [" ".join(page.split()) for page in done.stdout.split("\f")]
    assert len(pages) > 2
    return pages[:-1]


@pytest.mark.refuses("17025 7.8.1.2")
def test_what_is_not_printed(line: Line, tmp_path: Path) -> None:
    number, out = number_of(line, "A-1"), tmp_path / "out.pdf"
    before = line.kept()
    printed = ("certificate", "print", number, "--out", str(out), "--reason", "asked", "--to")
    refused(line(*printed, " ", by=(ANALYST,)), "certificate.recipient")
    refused(line(*printed, "w" * 121, by=(ANALYST,)), "certificate.recipient")
    refused(line(*printed, "倉庫", by=(ANALYST,)), "certificate.character-unprintable")
    refused(line(*printed, "x", "--reason", "", by=(ANALYST,)), "certificate.recipient")
    of_none = tuple("C-1999-00001" if word == number else word for word in printed)
    refused(line(*of_none, "x", by=(ANALYST,)), "certificate.unknown")
    assert line.kept() == before
    assert not out.exists()
