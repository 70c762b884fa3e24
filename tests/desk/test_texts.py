"""Text from keyboards, file systems and instruments in the one form records keep."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.desk.acts_runs import IngestFile, SubmitRuns
from benchseal.desk.texts import in_kept_form, kept_notices, kept_text
from benchseal.problems import Problem, Stopped
from benchseal.records.canonical import canonical_bytes

PARTS = unicodedata.normalize("NFD", "Pr\u00e4parat")


def test_every_text_of_an_act_is_put_in_form() -> None:
    kept = in_kept_form(IngestFile(PARTS.encode(), PARTS, "", (PARTS, "b")))
    whole = unicodedata.normalize("NFC", PARTS)
    assert kept == IngestFile(PARTS.encode(), whole, "", (whole, "b"))  # the bytes of a file are never touched


@pytest.mark.parametrize("act", [SubmitRuns(("R-\udcff",)), IngestFile(b"", "\udcff.txt", "", ())], ids=["run", "file"])
def test_what_is_no_text_is_refused(act: object) -> None:
    with pytest.raises(Stopped) as stop:
        in_kept_form(act)
    assert [notice.code for notice in stop.value.notices] == ["text.not-unicode"]
    assert str(stop.value).isascii()


@given(st.text(st.characters()))
def test_any_text_can_be_kept(text: str) -> None:
    kept = kept_text(text)
    assert kept_text(kept) == kept
    canonical_bytes(kept_notices([Problem("a.b", text, text, text)]))


def test_a_text_already_in_form_stays_as_it_is() -> None:
    assert kept_text("Gr\u00f6\u00dfe 5 \u00b5g") == "Gr\u00f6\u00dfe 5 \u00b5g"
