"""What stands behind a value in a line above the table: a draft takes what it saw there and no more."""

from __future__ import annotations

import pytest
from tests.ingest.test_draft_content import TABLE

from benchseal.documents.patterns import compiled
from benchseal.ingest.accounting import accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.records.run import DocumentRef

HEAD = "Serial: TQ-4\nTechnique: flame\nElement: Cd\nWavelength: 228.8 nm\nSlit: 0.7 nm\nDate: 2026-03-12 09:10:00\n"
REF = DocumentRef("draft", 0, "0" * 64)


def _draft(text: str) -> Draft:
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return draft


def _rule(draft: Draft, fact: str) -> tuple[str, bool, str]:
    nth = next(nth for nth, rule in enumerate(draft.layout.head) if f"<{fact}>" in rule.line)
    return draft.layout.head[nth].line, *draft.remarks[f"head.{nth}"]


def test_the_line_it_was_made_from_is_read_for_sure() -> None:
    draft = _draft(HEAD + TABLE)
    told = accounted((HEAD + TABLE).encode(), "x.txt", draft.layout, REF)
    (run,) = told.documents
    assert (run.facts.element, run.facts.wavelength_nm, run.facts.slit_nm) == ("Cd", "228.8", "0.7")
    assert all(_rule(draft, fact)[1] for fact in ("element", "wavelength_nm", "slit_nm"))
    other = HEAD.replace(": Cd", ": Zn").replace("228.8", "213.86")
    (run,) = accounted((other + TABLE).encode(), "x.txt", draft.layout, REF).documents
    assert (run.facts.element, run.facts.wavelength_nm) == ("Zn", "213.86")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Element: Cd", "Element: Cd + Pb"),
        ("Element: Cd", "Element: Cd; not Cd but Zn"),
        ("Element: Cd", "Element: Cd (Zn)"),
        ("228.8 nm", "228.8, 283.3 nm"),
        ("228.8 nm", "228.8.5 nm"),
        ("228.8 nm", "228.8e1 nm"),
        ("228.8 nm", "228.8/217.0 nm"),
        ("228.8 nm", "228.8 A"),
        ("228.8 nm", "228.8 nm  scale expansion x10"),
        ("228.8 nm", "228.8 nm (lamp failed)"),
        ("0.7 nm", "0.7 nm low"),
    ],
)
def test_anything_else_behind_a_value_is_refused(old: str, new: str) -> None:
    draft = _draft(HEAD + TABLE)
    told = accounted((HEAD.replace(old, new) + TABLE).encode(), "x.txt", draft.layout, REF)
    assert {problem.code for problem in told.problems} & {"ingest.line-unread", "ingest.line-missing"}


@pytest.mark.parametrize(
    ("line", "fact", "other"),
    [
        ("Element: Cd (lamp 3)", "element", "Element: Cd (Zn 3)"),
        ("Element: Cd 228.8 nm, lamp 3", "wavelength_nm", "Element: Cd 228.8 nm, Zn 3"),
        ("Element: Cd at 228.8", "wavelength_nm", "Element: Cd + Zn at 228.8"),
        ("Wavelength: 228.8 nm x10", "wavelength_nm", "Wavelength: 228.8 nm / x10"),
    ],
)
def test_a_rest_is_asked_about_and_must_stand_so(line: str, fact: str, other: str) -> None:
    draft = _draft(f"Serial: TQ-4\n{line}\n" + TABLE)
    pattern, sure, why = _rule(draft, fact)
    assert compiled(pattern).fullmatch(line)
    assert not compiled(pattern).fullmatch(other)
    assert sure == line.endswith("228.8")
    assert sure or "is passed over, where it stands so" in why


def test_a_key_no_list_knows_is_a_whole_word() -> None:
    draft = _draft(HEAD + "By\tsomebody\n" + TABLE)
    nth, pattern = next((nth, one.line) for nth, one in enumerate(draft.layout.head) if one.line.startswith("By"))
    assert not draft.remarks[f"head.{nth}"][0]
    assert "whatever stands behind it is passed over" in draft.remarks[f"head.{nth}"][1]
    assert compiled(pattern).fullmatch("By\tanother")
    assert not compiled(pattern).fullmatch("Byte order\t2")
