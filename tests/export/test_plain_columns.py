"""The quick look at a column only ever says yes: with and without it the same bytes, and nothing unsound passes."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Literal, TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.export.test_delimited import LETTERS, NUMBERS, PLAIN_FILE, SEMICOLONS
from tests.export.test_file_kinds import DELIVERY, PARQUET, profile, row

from benchseal.export import columns, delimited
from benchseal.export.plain_columns import all_plain
from benchseal.export.render import render
from benchseal.records.profile import Column, FileForm
from benchseal.records.quantities import is_plain_decimal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.problems import Problem
    from benchseal.records.profile import Profile
    from benchseal.records.released import ReleasedRow

FILES = [
    PLAIN_FILE,
    SEMICOLONS,
    dataclasses.replace(PLAIN_FILE, quote="always"),
    dataclasses.replace(PLAIN_FILE, quote="never", separator="|"),
    dataclasses.replace(PLAIN_FILE, encoding="us-ascii", decimal_mark=","),
    PARQUET,
    FileForm(kind="json_lines"),
]
Missing: TypeAlias = Literal["empty", "refuse"]
MISSING: tuple[Missing, ...] = ("empty", "refuse")
TEXTS = st.text(LETTERS | st.sampled_from(",;\"'\r\n\t|= <-.+@") | st.sampled_from("abcXYZ019"), max_size=6)
ODD_NUMBERS = st.sampled_from(["", "1.", ".5", "-", "-.5", "--1", "1-2", "1.2.3", "+1", "1e5", "٣", "007", "-0.0"])


def slowly(rows: Sequence[ReleasedRow], wanted: Profile) -> bytes | tuple[Problem, ...]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(columns, "all_plain", lambda *_: False)
        return by_columns(rows, wanted)


def by_columns(rows: Sequence[ReleasedRow], wanted: Profile) -> bytes | tuple[Problem, ...]:
    """Without the quick look at whole rows, which would take what this one is there for."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(delimited, "plain_rows", lambda *_: None)
        return render(rows, wanted, DELIVERY)


@given(
    st.lists(st.tuples(TEXTS, NUMBERS | ODD_NUMBERS, TEXTS), min_size=1, max_size=5),
    st.sampled_from(FILES),
    st.sampled_from(["refuse", "prefix", "keep"]),
    st.sampled_from([0, 3]),
    st.sampled_from(MISSING),
)
def test_quick_and_slow_are_the_same(
    cells: list[tuple[str, str, str]], file: FileForm, risky: str, longest: int, missing: Missing
) -> None:
    rows = [dataclasses.replace(row(), note=note, value_number=number, lot_id=lot) for note, number, lot in cells]
    some = (
        Column("N", "note", max_length=longest),
        Column("V", "value_number", when_missing=missing),
        Column("K", "reported_kind"), Column("U", "unit_ucum"), Column("L", "lot_id"), Column("C", "change_kind"),
    )  # fmt: skip
    wanted = profile(file, *some, risky_text=risky)
    assert by_columns(rows, wanted) == slowly(rows, wanted)


@given(st.lists(NUMBERS | ODD_NUMBERS, min_size=1, max_size=6))
def test_a_column_of_numbers_that_is_plain_is_made_of_plain_decimals(values: list[str]) -> None:
    if all_plain(values, Column("V", "value_number")):
        assert all(is_plain_decimal(value) or not value for value in values)


def test_the_ordinary_is_plain_and_the_odd_is_not() -> None:
    """Else the quick look would be right and useless."""
    text, number = Column("N", "note"), Column("V", "value_number")
    assert all_plain(["S-00001", "mg/kg", "<0.050", "a b", ""], text)
    assert all_plain(["0.067", "-0.02", "", "12"], number)
    for odd in ("=1", "-lot", " a", "a ", "a,b", 'a"b', "a\nb", "µg", "a\0", "+1", "@x", "'x"):
        assert not all_plain(["a", odd, "b"], text)
    for odd in ("1.", ".5", "-", "-.5", "1-2", "1.2.3", "+1", "1e5", "\u0663", "1\n2", "1" * 19):
        assert not all_plain(["0.1", odd, "2"], number)
    assert not all_plain([], text)
    assert not all_plain(["2026-01-01"], Column("D", "received_at"))
    assert not all_plain(["a"], Column("N", "note", map={"a": "b"}))
