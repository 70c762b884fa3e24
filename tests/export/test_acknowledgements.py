"""Acknowledgement files: what is read, in both forms, and each way to be wrong."""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.export.acknowledgements import read_acknowledgement
from benchseal.records.acknowledgement import Acknowledgement, RejectedRow

SAMPLES = Path(__file__).parents[2] / "fixtures" / "schemas" / "acknowledgement"
HEAD = "delivery_id,state,row_no,reason\r\n"


def read(text: str | bytes) -> Acknowledgement:
    found = read_acknowledgement(text if isinstance(text, bytes) else text.encode(), "a.txt")
    assert isinstance(found, Acknowledgement), found
    return found


def codes(text: str | bytes) -> list[str]:
    found = read_acknowledgement(text if isinstance(text, bytes) else text.encode(), "a.txt")
    assert isinstance(found, tuple), found
    assert all(one.where.startswith("a.txt") for one in found)
    return [one.code for one in found]


def test_both_forms_say_the_same() -> None:
    as_json = json.dumps(
        {"schema": "acknowledgement/1", "delivery_id": "D-00007", "state": "partly",
         "rejected": [{"row_no": 3, "reason": "unknown, sample"}]}
    )  # fmt: skip
    as_lines = HEAD + 'D-00007,rejected,3,"unknown, sample"\r\n'
    expected = Acknowledgement("acknowledgement/1", "D-00007", "partly", (RejectedRow(3, "unknown, sample"),))
    assert read(as_json) == read(as_lines) == read("\ufeff" + as_lines) == expected
    assert read(HEAD + "D-00007,accepted,,\n") == Acknowledgement("acknowledgement/1", "D-00007", "accepted")
    assert read(HEAD + "D-00007,rejected,,no such lab\n").reason == "no such lab"
    assert read(HEAD + "D-00007,partly,,\nD-00007,rejected,2,x\n").rejected == (RejectedRow(2, "x"),)


def test_the_good_sample() -> None:
    assert read((SAMPLES / "good.json").read_bytes()).rejected[0].row_no == 3


@pytest.mark.parametrize("name", ["bad-word-unknown", "bad-whole-number-as-text", "bad-key-missing"])
def test_bad_samples(name: str) -> None:
    assert [code.partition(".")[0] for code in codes((SAMPLES / f"{name}.json").read_bytes())] == ["documents"]


def test_a_row_beyond_all_numbers_is_said_once_as_it_was_written() -> None:
    text = (
        '{"schema":"acknowledgement/1","delivery_id":"D-1","state":"partly","rejected":[{"row_no":1e400,"reason":"x"}]}'
    )
    found = read_acknowledgement(text.encode(), "a.txt")
    assert isinstance(found, tuple)
    assert [(one.code, one.what) for one in found] == [("acknowledgement.row", "1e400 is no row number.")]


@pytest.mark.parametrize("figures", ["9" * 401, "9" * 401 + ".5", "1." + "0" * 399 + "1"])
def test_a_row_number_that_is_cut_in_the_message_says_so(figures: str) -> None:
    row = f'{{"row_no":{figures},"reason":"x"}}'
    text = f'{{"schema":"acknowledgement/1","delivery_id":"D-00001","state":"partly","rejected":[{row}]}}'
    found = read_acknowledgement(text.encode(), "a.txt")
    assert isinstance(found, tuple)
    assert len(found[0].what) < 100
    assert figures not in found[0].what
    if figures[0] == "9":
        assert found[0].what == f"{'9' * 40}... ({len(figures)} signs) is no row number."
    lines = read_acknowledgement((HEAD + f"D-00007,rejected,{figures},a\n").encode(), "a.txt")
    assert isinstance(lines, tuple)
    assert lines[0].what == f"'{figures[:40]}'... ({len(figures)} signs) is no row number."


@pytest.mark.parametrize("name", ["bad-word-unknown", "bad-whole-number-as-text", "bad-key-missing"])
def test_nobody_is_told_to_correct_the_file_of_the_receiver(name: str) -> None:
    found = read_acknowledgement((SAMPLES / f"{name}.json").read_bytes(), "a.txt")
    assert isinstance(found, tuple)
    assert all(one.remedy.startswith("Ask the receiver") for one in found)


WRONG: dict[str, tuple[str | bytes, list[str]]] = {
    "nothing": ("", ["acknowledgement.columns"]),
    "header alone": (HEAD, ["acknowledgement.columns"]),
    "other header": ("delivery,state\nD-00001,accepted\n", ["acknowledgement.columns"]),
    "a cell short": (HEAD + "D-00007,accepted,\n", ["acknowledgement.columns"]),
    "a cell more": (HEAD + "D-00007,rejected,1,a,b\n", ["acknowledgement.columns"]),
    "row zero": (HEAD + "D-00007,rejected,0,a\n", ["acknowledgement.row"]),
    "row in other figures": (HEAD + "D-00007,rejected,٣,a\n", ["acknowledgement.row"]),
    "row twice": (HEAD + "D-00007,rejected,3,a\nD-00007,rejected,3,b\n", ["acknowledgement.row"]),
    "accepted, then rejected": (HEAD + "D-00007,accepted,,\nD-00007,rejected,,bad\n", ["acknowledgement.state"]),
    "rejected, then accepted": (HEAD + "D-00007,rejected,,bad\nD-00007,accepted,,\n", ["acknowledgement.state"]),
    "partly, then accepted": (
        HEAD + "D-00007,partly,,\nD-00007,rejected,2,x\nD-00007,accepted,,\n",
        ["acknowledgement.state"],
    ),
    "accepted twice": (HEAD + "D-00007,accepted,,\nD-00007,accepted,,\n", ["acknowledgement.state"]),
    "row that was accepted": (HEAD + "D-00007,accepted,3,\n", ["acknowledgement.state"]),
    "two deliveries": (HEAD + "D-00007,accepted,,\nD-00008,accepted,,\n", ["acknowledgement.several"]),
    "open quote": (HEAD + 'D-00007,rejected,3,"a\n', ["acknowledgement.unreadable"]),
    "not UTF-8": (HEAD.encode() + b"D-00007,rejected,3,\xff\n", ["acknowledgement.unreadable"]),
    "half a JSON": ('{"schema": ', ["acknowledgement.unreadable"]),
    "no JSON number": ('{"schema": NaN}', ["acknowledgement.unreadable"]),
    "deep JSON": ("[" * 100_000, ["acknowledgement.unreadable"]),
    "a key twice": (
        '{"schema":"acknowledgement/1","delivery_id":"D-00001","state":"rejected","reason":"x","state":"accepted"}',
        ["acknowledgement.key-twice"],
    ),
    "a key of a row twice": (
        '{"schema":"acknowledgement/1","delivery_id":"D-00001","rejected":[{"row_no":1,"row_no":2,"reason":"x"}]}',
        ["acknowledgement.key-twice"],
    ),
    "row with a decimal point": (
        '{"schema":"acknowledgement/1","delivery_id":"D-00001","state":"partly","rejected":[{"row_no":3.0,"reason":"x"}]}',
        ["acknowledgement.row"],
    ),
    "row with an exponent": (
        '{"schema":"acknowledgement/1","delivery_id":"D-00001","state":"partly","rejected":[{"row_no":3e0,"reason":"x"}]}',
        ["acknowledgement.row"],
    ),
    "half a surrogate pair": (
        '{"schema":"acknowledgement/1","delivery_id":"D-00001","state":"rejected","reason":"\\ud800"}',
        ["acknowledgement.unreadable"],
    ),
    "half a surrogate pair in a row": (
        '{"schema":"acknowledgement/1","delivery_id":"D-1","state":"partly","rejected":[{"row_no":1,"reason":"\\uDC00"}]}',
        ["acknowledgement.unreadable"],
    ),
    "half a surrogate pair as a key": ('{"schema":"acknowledgement/1","\\ud800":1}', ["acknowledgement.unreadable"]),
    "a row number of very many figures": (
        '{"schema":"acknowledgement/1","delivery_id":"D-1","state":"partly","rejected":[{"row_no":'
        + "7" * 5000
        + ',"reason":"x"}]}',
        ["acknowledgement.row"],
    ),
    "blanks without end": (b" " * 200_000, ["acknowledgement.too-large"]),
    "a reason without end": (HEAD + "D-00007,rejected,3," + "x" * 200_000, ["acknowledgement.too-large"]),
    "a list": ("[]", ["documents.value-unfit"]),
    "accepted with rows": (
        '{"schema":"acknowledgement/1","delivery_id":"D-00001","state":"accepted","rejected":[{"row_no":1,"reason":"x"}]}',
        ["acknowledgement.state"],
    ),
    "partly without rows": (HEAD + "D-00007,partly,,\n", ["acknowledgement.state"]),
    "escape in a reason": (HEAD + "D-00007,rejected,3,\x1b[2J\n", ["acknowledgement.unreadable"]),
    "unknown state": (HEAD + "D-00007,perhaps,,\n", ["documents.value-unknown"]),
    "path for a delivery": (HEAD + "../D-00007,accepted,,\n", ["documents.value-unfit"]),
}


@pytest.mark.parametrize("name", WRONG)
def test_each_way_to_be_wrong_has_its_code(name: str) -> None:
    text, expected = WRONG[name]
    assert codes(text) == expected


def test_no_remedy_of_an_acknowledgement_corrects_it() -> None:
    for data, _ in WRONG.values():
        found = read_acknowledgement(data if isinstance(data, bytes) else data.encode(), "a.txt")
        assert isinstance(found, tuple)
        assert all(one.remedy.startswith("Ask ") for one in found), found


def test_blanks_around_words_and_capitals_in_the_first_line_are_taken() -> None:
    found = read_acknowledgement(b"DELIVERY_ID,State, ROW_NO ,reason\nD-00007 , rejected, 3, unknown\n", "a.txt")
    assert isinstance(found, Acknowledgement)
    assert (found.delivery_id, [(one.row_no, one.reason) for one in found.rejected]) == ("D-00007", [(3, " unknown")])


@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_a_reason_is_kept_in_one_form_of_unicode(form: Literal["NFC", "NFD"]) -> None:
    reason = unicodedata.normalize(form, "größe unbekannt")
    found = read_acknowledgement(f"{HEAD}D-00007,rejected,,{reason}\n".encode(), "a.txt")
    assert isinstance(found, Acknowledgement)
    assert found.reason == unicodedata.normalize("NFC", reason)


def test_lines_that_contradict_each_other_are_both_named() -> None:
    found = read_acknowledgement((HEAD + "D-00007,accepted,,\nD-00007,rejected,,bad\n").encode(), "a.txt")
    assert isinstance(found, tuple)
    assert "line 2 says 'accepted', line 3 says 'rejected'" in found[0].what


def test_a_reason_that_has_swallowed_rows_is_refused() -> None:
    text = (
        HEAD
        + 'D-00007,rejected,1,"no lot\nD-00007,rejected,2,no date\nD-00007,rejected,3,no unit"\nD-00007,rejected,4,x\n'
    )
    (problem,) = read_acknowledgement(text.encode(), "a.txt")  # type: ignore[misc]  # it is no acknowledgement
    assert (problem.code, problem.where) == ("acknowledgement.rows-in-cell", "a.txt, lines 2 to 4, cell 4")
    assert codes(HEAD + 'D-00007,rejected,1,"no lot\nD-00007,rejected,2,no date"\n') == ["acknowledgement.rows-in-cell"]
    assert codes(HEAD + 'D-00007,rejected,1,"no lot\nand no date"\nD-00007,rejected,x,b\n') == ["acknowledgement.row"]
    (row,) = read(HEAD + 'D-00007,rejected,1,"no lot,\nand no date, of 3"\n').rejected
    assert row.reason == "no lot,\nand no date, of 3", "an honest line break stays"


def test_a_line_is_counted_as_an_editor_counts_it() -> None:
    found = read_acknowledgement((HEAD + 'D-00007,rejected,1,"a\nb"\nD-00007,rejected,x,b\n').encode(), "a.txt")
    assert isinstance(found, tuple)
    assert found[0].where == "a.txt, line 4"


def test_a_huge_file_is_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("benchseal.export.acknowledgements.MOST_BYTES", 10)
    assert codes(HEAD) == ["acknowledgement.too-large"]


@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda text: (HEAD + text).encode("utf-8", "replace")))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    found = read_acknowledgement(data, "a.txt")
    assert isinstance(found, Acknowledgement) or all(one.remedy for one in found)
