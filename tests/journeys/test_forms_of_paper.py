"""Certificates in simplified form where the customer agreed to it, and pages of either size."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER
from tests.journeys.test_after_release import in_force, issued, judged_again, number_of, page_text
from tests.journeys.test_corrections import good, refused, whole
from tests.verify.making import Plan, make, trust

from benchseal.certificate.issue import draft_problems
from benchseal.certificate.words_de import DE
from benchseal.shipped import starter
from benchseal.verify.contents import Case
from benchseal.verify.parts import documents

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

    from benchseal.records.evidence import Evidence

LETTER = (612, 792)  # points: 8.5 and 11 inches of 72
A4 = (595, 842)
AGREED = "letter CQ-26-11 of 4 May"


def sizes(pdf: Path) -> set[tuple[int, int]]:
    """Width and height of the pages, upright or not, in points."""
    with pikepdf.open(io.BytesIO(pdf.read_bytes())) as pages:
        found = [[round(float(side)) for side in page.mediabox[2:]] for page in pages.pages]
    return {(min(each), max(each)) for each in found}


@pytest.mark.clause("17025 7.8.1.3")
def test_a_simplified_certificate_says_by_which_agreement_and_verifies(line: Line) -> None:
    draft = ("certificate", "draft", "B-4", "--simplified")
    before = line.kept()
    refused(line(*draft, by=(ANALYST,)), "certificate.not-agreed")
    assert line.kept() == before
    in_force(line, "sachet.yaml", f"{starter('specifications/drink-sachet.yaml')}simplified_agreed: '{AGREED}'\n")
    judged_again(line)
    number = str(good(line(*draft, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    text = page_text(line, number)
    assert f"Vereinfachte Form, wie mit dem Auftraggeber vereinbart ({AGREED}):" in " ".join(text.split())
    assert DE["heading/known"] not in text  # their certificates are in German
    checked = line("verify", str(line.site / "certificates" / f"{number}.pdf"))
    assert (checked.code, checked.out.split()[0]) == (0, "GENUINE"), checked.out
    assert "come out again from the readings" in checked.out
    assert whole(line)


def simplified(agreement: str, named: str) -> Evidence:
    """As if it were simplified by ``agreement``, its specification naming ``named``."""
    found = make().evidence
    facts = replace(found.certificate, simplified=agreement)
    return replace(found, certificate=facts, specification=replace(found.specification, simplified_agreed=named))


@pytest.mark.refuses("17025 7.8.1.3")
@pytest.mark.parametrize("named", ["", "letter 12"])
def test_no_other_agreement_will_do(named: str) -> None:
    told = simplified(AGREED, named)
    (problem,) = draft_problems(told)
    assert (problem.code, problem.where) == ("certificate.not-agreed", "simplified")
    made = make(Plan())
    case = Case(told, made.supplement, "", "", made.pages(), trust())
    assert any("simplified form by" in str(fault) for fault in documents(case))
    assert draft_problems(simplified(AGREED, AGREED)) == ()


def test_on_letter_paper(line: Line, tmp_path: Path) -> None:
    """By the rules of the site: what is drafted from then on, its notice, its copies, preliminary figures, reports."""
    first = number_of(line, "A-1")
    in_force(line, "rules.yaml", starter("site/rules.yaml").replace("paper: ''", "paper: letter"))
    out = tmp_path / "out.pdf"
    number = str(good(line("certificate", "draft", "A-4", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "show", number, "--pdf", str(out), "--json", by=(ANALYST,)))
    assert sizes(out) == {LETTER}
    issued(line, number)
    sealed = line.site / "certificates" / f"{number}.pdf"
    assert sizes(sealed) == {LETTER}
    with pikepdf.open(sealed) as pages:
        assert len(pages.pages) == 2  # as on A4
    assert line("verify", str(sealed)).code == 0
    copied = ("certificate", "print", number, "--to", "J. Reed", "--reason", "asked", "--out", str(out), "--json")
    good(line(*copied, by=(ANALYST,)))
    assert sizes(out) == {LETTER}
    for each, due in ((number, LETTER), (first, A4)):
        good(line("certificate", "withdraw", each, "--reason", "of another lot", "--json", by=(APPROVER,)))
        assert sizes(line.site / "certificates" / f"{each}-W.pdf") == {due}
    out.unlink()
    given = ("certificate", "preliminary", "A-2", "--to", "J. Reed", "--reason", "the lot waits", "--out", str(out))
    good(line(*given, "--json", by=(APPROVER,)))
    assert sizes(out) == {LETTER}
    for words in (("report", "run", "R-00001"), ("report", "lot", "A-1")):
        for more, due in (((), LETTER), (("--paper", "a4"), A4)):
            file = tmp_path / f"{'-'.join((*words, *more))}.pdf"
            good(line(*words, "--pdf", str(file), *more, "--json", by=(REVIEWER,)))
            assert sizes(file) == {due}, words
    for more, due in (((), LETTER), (("--paper", "a4"), A4)):
        folder = tmp_path / f"trail-{len(more)}"
        good(line("report", "trail", number, "--out", str(folder), *more, "--json", by=(REVIEWER,)))
        assert sizes(folder / "trail.pdf") == {due}
    assert whole(line)
