"""A letterhead is tried when it is brought in and before it is approved: one that no page passes under is refused."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_rehearsing import here
from tests.desk.test_rotation import ANALYST, APPROVER

from benchseal.certificate.trial import invented, long_words
from benchseal.desk import rehearsing
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.perform import perform
from benchseal.documents.reading import read_document
from benchseal.problems import Stopped
from benchseal.records.letterhead import Letterhead
from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.records.site_rules import Paper

PAPERS: tuple[Paper, ...] = ("", "letter")
GOOD = starter("letterheads/letterhead.yaml")
ADDRESS = GOOD[GOOD.index("address: |") : GOOD.index("logo:")]
EIGHT = "address: |\n" + "".join(f"  Line {nth} of a long address, Sandling Harbour\n" for nth in range(8))


def add(stage: Stage, text: str) -> None:
    perform(stage.site, AddDocument(text.encode(), "letterhead.yaml"), stage.key(ANALYST))


def long_foot(text: str) -> str:
    """A word without an end in the foot, which is more lines than the margin has."""
    return re.sub(r"(?m)^(\s+foot: ).*$", rf"\1'{'F' * 500}'", text)


def letterhead(text: str) -> Letterhead:
    read = read_document(text.encode(), "letterhead.yaml")
    assert not isinstance(read, tuple), read
    assert isinstance(read.value, Letterhead)
    return read.value


@pytest.fixture
def fresh() -> None:
    rehearsing.letterhead_passed.cache_clear()


@pytest.mark.usefixtures("fresh")
def test_the_field_that_is_too_long_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rehearsing, "rendered", here)
    good = letterhead(GOOD.replace(ADDRESS, EIGHT))
    for paper in PAPERS:
        rehearsing.letterhead_passed(good, (), paper)
    with pytest.raises(Stopped) as stopped:
        rehearsing.letterhead_passed(letterhead(long_foot(GOOD)), (), "")
    assert [one.where for one in stopped.value.notices] == ["letterhead, foot"]
    with pytest.raises(Stopped) as stopped:
        rehearsing.letterhead_passed(replace(good, laboratory="W" * 200, words=good.words[:1]), (), "letter")
    assert {"letterhead, laboratory"} <= {one.where for one in stopped.value.notices}


def test_a_draft_names_words_without_a_break() -> None:
    evidence, _ = invented()
    assert long_words(evidence, None) == ()
    facts = evidence.certificate
    row = replace(facts.sample.row, product="W" * 60)
    named = replace(evidence, certificate=replace(facts, sample=replace(facts.sample, row=row)))
    assert long_words(named, None) == (f"item, product ('{'W' * 24}' …)",)


@pytest.mark.usefixtures("fresh")
def test_a_letterhead_of_eight_lines_is_taken_and_approved(stage: Stage) -> None:
    add(stage, GOOD.replace(ADDRESS, EIGHT))
    perform(stage.site, ApproveDocument("letterhead/LETTERHEAD"), stage.key(APPROVER))


@pytest.mark.usefixtures("fresh")
def test_a_letterhead_that_no_page_passes_under_is_refused_by_its_field(stage: Stage) -> None:
    with pytest.raises(Stopped) as stopped:
        add(stage, long_foot(GOOD))
    (notice,) = stopped.value.notices
    assert (notice.code, notice.where) == ("certificate.page-unfit", "letterhead, foot")
    assert "text is drawn where it is cut off" in notice.what
    with stage.site.store.reading() as view:
        rows = view.rows("document", kind="letterhead")
    add(stage, GOOD.replace(ADDRESS, EIGHT))
    with stage.site.store.reading() as view:
        assert len(view.rows("document", kind="letterhead")) == len(rows) + 1, "nothing stayed of the refused one"


@pytest.mark.usefixtures("fresh")
def test_one_that_came_in_before_it_was_tried_is_not_approved(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(rehearsing, "_try_letterhead", lambda *_: None)
        add(stage, long_foot(GOOD))
    with pytest.raises(Stopped) as stopped:
        perform(stage.site, ApproveDocument("letterhead/LETTERHEAD"), stage.key(APPROVER))
    assert [(one.code, one.where) for one in stopped.value.notices] == [("certificate.page-unfit", "letterhead, foot")]
