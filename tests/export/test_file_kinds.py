"""Fixed widths, JSON Lines and Parquet, read back by slices, ``json``, pandas and pyarrow; words of each kind."""

from __future__ import annotations

import dataclasses
import io
import json
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Literal

import pandas as pd
import pyarrow as pa
import pyarrow.parquet
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.export.profiles import check_profile
from benchseal.export.render import preview, render, suffix_of
from benchseal.records.profile import Choose, Column, FileForm, Profile
from benchseal.records.released import DATE_FIELDS, DAYS, NUMBER_FIELDS, WHOLE_NUMBERS, Delivery, ReleasedRow, sealed
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from benchseal.problems import Problem

DELIVERY = Delivery("D-00007", 7, "2026-03-04T14:02:11.000Z", DocumentRef("partner", 3, "ab" * 32))
FIXED = FileForm("iso-8859-1", line_end="lf", decimal_mark=".", header_line=False, kind="fixed_width")
LINES = FileForm(kind="json_lines")
PARQUET = FileForm(kind="parquet")
DELIMITED = FileForm("utf-8", ",", "needed", "lf", ".", header_line=True)

# Numbers in which nothing may be lost: trailing zeros, negatives, more figures than a double holds.
ROWS = [
    {"value_number": "0.0670", "value_text": "0.0670", "note": '"w" ü\t\n', "measured_at": "2026-07-04T14:02:11.250Z"},
    {"value_number": "-0.0021", "value_text": "-0.0021", "lot_id": "007", "received_at": "2026-02-28"},
    {"value_number": "12345678901234567890.123456789012345678", "lot_id": "1E5"},
    {"reported_kind": "not_determined"},
    {"qualifier": "<", "value_number": "0.050", "value_text": "<0.050", "reported_kind": "below_limit"},
]  # fmt: skip


def row(**fields: str) -> ReleasedRow:
    base = {"result_id": "0" * 32, "lab_sample_id": "S-00001", "element_symbol": "Pb", "reported_kind": "measured"}
    wanted = {"revision": "1", "change_kind": "new", "unit_ucum": "ug/g", **base, **fields}
    return sealed(ReleasedRow(**wanted))  # type: ignore[arg-type]


def profile(file: FileForm, *columns: Column, **words: Any) -> Profile:  # noqa: ANN401  any field of Profile
    base: dict[str, Any] = {"risky_text": "keep", "choose": Choose(methods=("lead-furnace",))}
    return Profile(kind="profile", id="partner", title="Partner", file=file, columns=columns, **(base | words))


def columns(*more: Column, width: int = 0) -> tuple[Column, ...]:
    made = (
        Column("NO", "row_no"), Column("ID", "result_id"), Column("LOT", "lot_id"), Column("SIGN", "qualifier"),
        Column("TEXT", "value_text"), Column("VALUE", "value_number"), Column("UNIT", "unit_ucum"),
        Column("AT", "measured_at"), Column("IN", "received_at"), Column("C", "change_kind"), *more,
    )  # fmt: skip
    return tuple(dataclasses.replace(one, width=width) for one in made)


def rendered(rows: list[ReleasedRow], wanted: Profile) -> bytes:
    data = render(rows, wanted, DELIVERY)
    assert isinstance(data, bytes), data
    return data


def refused(rows: list[ReleasedRow], wanted: Profile) -> tuple[Problem, ...]:
    problems = render(rows, wanted, DELIVERY)
    assert isinstance(problems, tuple), problems
    return problems


def field_of(one: ReleasedRow, number: int, name: str) -> str:
    return str(number) if name == "row_no" else str(getattr(one, name))


# JSON Lines


def test_json_lines_come_back_with_every_figure() -> None:
    rows = [row(**fields) for fields in ROWS]
    wanted = profile(LINES, *columns(Column("NOTE", "note"), Column("LAB", fixed="Tüv")))
    text = rendered(rows, wanted).decode()
    assert text.endswith("}\n")
    for number, (line, one) in enumerate(zip(text.split("\n")[:-1], rows, strict=True), start=1):
        read = json.loads(line, parse_float=str, parse_int=str)  # the figures as they stand in the file
        assert list(read) == [column.title for column in wanted.columns]
        for column in wanted.columns:
            assert (read[column.title] or "") == (field_of(one, number, column.field) if column.field else column.fixed)


def test_json_numbers_are_numbers_and_everything_else_is_text_or_null() -> None:
    (line,) = rendered([row(value_number="0.50", lot_id="1E5")], profile(LINES, *columns())).decode().splitlines()
    read = json.loads(line)
    assert (read["VALUE"], read["LOT"], read["SIGN"], read["NO"]) == (0.5, "1E5", None, 1)
    assert '"VALUE":0.50' in line


def test_json_lines_read_by_pandas() -> None:
    rows = [row(**fields) for fields in ROWS]
    frame = pd.read_json(io.BytesIO(rendered(rows, profile(LINES, *columns()))), lines=True, dtype=False)
    assert frame["LOT"].fillna("").tolist() == ["", "007", "1E5", "", ""]
    assert len(frame) == len(rows)


def test_no_rows_are_an_empty_file_of_lines() -> None:
    assert rendered([], profile(LINES, *columns())) == b""


def test_a_number_json_does_not_have_is_refused() -> None:
    (problem,) = refused([row(value_number="007.5")], profile(LINES, *columns()))
    assert (problem.code, "column VALUE" in problem.where) == ("export.not-a-number", True)


def test_risky_text_and_maps_hold_for_lines_too() -> None:
    wanted = profile(LINES, *columns(Column("NOTE", "note"), Column("E", "element_symbol", map={"Pb": "1"})))
    (problem,) = refused([row(note="=1+1")], dataclasses.replace(wanted, risky_text="refuse"))
    assert problem.code == "export.risky-text"
    (line,) = rendered([row(note="a")], wanted).decode().splitlines()
    assert json.loads(line)["E"] == "1"


# Fixed widths


def test_fixed_widths_come_back_by_their_places() -> None:
    rows = [row(**fields | {"note": "µg é"}) for fields in ROWS]
    wanted = profile(FIXED, *columns(Column("NOTE", "note"), width=44))
    for number, (line, one) in enumerate(
        zip(rendered(rows, wanted).decode("latin-1").split("\n"), rows, strict=False), start=1
    ):
        assert len(line) == 44 * len(wanted.columns)
        cells = [line[at : at + 44].strip() for at in range(0, len(line), 44)]
        assert cells == [field_of(one, number, column.field) for column in wanted.columns]


def test_fixed_widths_read_by_pandas() -> None:
    rows = [row(**fields) for fields in ROWS[1:]]
    wanted = profile(dataclasses.replace(FIXED, header_line=True), *columns(width=44))
    frame = pd.read_fwf(
        io.BytesIO(rendered(rows, wanted)), widths=[44] * 10, dtype=str, keep_default_na=False, encoding="latin-1"
    )
    assert list(frame.columns) == [column.title for column in wanted.columns]
    assert frame["VALUE"].tolist() == [one.value_number for one in rows]
    assert frame["LOT"].tolist() == ["007", "1E5", "", ""]


def test_exact_bytes_of_a_file_of_fixed_widths() -> None:
    wanted = profile(
        dataclasses.replace(FIXED, header_line=True, line_end="crlf", decimal_mark=","),
        Column("ROW", "row_no", width=4, pad="zero"),
        Column("VALUE", "value_number", width=8),
        Column("Z", "value_number", width=7, pad="zero"),
        Column("R", "lot_id", width=4, align="right"),
        Column("S", "qualifier", width=1),
        Column("UNIT", "unit_ucum", width=5),
        Column("C", "change_kind", width=1, map={"new": "N"}),
        opening_lines=("H{delivery_id}",),
        closing_lines=("T{row_count};{sum_of:value_number}",),
    )
    rows = [row(value_number="0.067", lot_id="A"), row(value_number="-0.02", lot_id="BB"), row()]
    assert rendered(rows, wanted) == (
        b"HD-00007\r\n"
        b"ROW VALUE   Z      R   SUNIT C\r\n"
        b"0001   0,067000,067   A ug/g N\r\n"
        b"0002   -0,02-000,02  BB ug/g N\r\n"
        b"0003                    ug/g N\r\n"
        b"T3;0,047\r\n"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("note", "code"),
    [
        ("123456", "export.too-long"),
        ("a\nb", "export.line-break"),
        ("a\tb", "export.line-break"),
        (" a", "export.blank-at-end"),
        ("a\u00a0", "export.blank-at-end"),
        ("鉛", "export.not-in-encoding"),
        ("a\0", "export.control-character"),
    ],
)
def test_what_fixed_widths_cannot_carry_is_refused(note: str, code: str) -> None:
    wanted = profile(FIXED, Column("N", "note", width=5), Column("C", "change_kind", width=9))
    problems = refused([row(), row(note=note)], wanted)
    assert [(one.code, one.where.startswith("row 2 ")) for one in problems] == [(code, True)]
    assert [cell.problem and cell.problem.code for cell in preview([row(note=note)], wanted)[0]] == [code, None]


TEXTS = st.text(st.characters(codec="latin-1", exclude_categories=("Cc", "Cs")), max_size=12)
PLACES = st.decimals(min_value=-(10**20) + 1, max_value=10**20 - 1, places=18, allow_nan=False, allow_infinity=False)


@given(st.lists(st.tuples(TEXTS, PLACES, st.booleans()), min_size=1, max_size=4))
def test_whatever_is_not_refused_comes_back_from_every_kind(cells: list[tuple[str, Decimal, bool]]) -> None:
    rows = [row(note=note, value_number=f"{value:f}" if given else "") for note, value, given in cells]
    some = (Column("N", "note"), Column("V", "value_number"), Column("U", "unit_ucum"), Column("K", "reported_kind"))
    wide = tuple(dataclasses.replace(one, width=60) for one in (*some, Column("C", "change_kind")))
    expected = [(one.note, one.value_number) for one in rows]
    fixed = render(rows, profile(FIXED, *wide), DELIVERY)
    if isinstance(fixed, bytes):
        lines = fixed.decode("latin-1").split("\n")[:-1]
        assert [(line[:60].rstrip(), line[60:120].strip()) for line in lines] == expected
    else:
        assert {one.code for one in fixed} == {"export.blank-at-end"}
    lines = rendered(rows, profile(LINES, *some, Column("C", "change_kind"))).decode().split("\n")[:-1]
    read = [json.loads(line, parse_float=str) for line in lines]
    assert [(one["N"] or "", one["V"] or "") for one in read] == expected
    table = pa.parquet.read_table(io.BytesIO(rendered(rows, profile(PARQUET, *some, Column("C", "change_kind")))))
    exact = [(text, Decimal(number) if number else None) for text, number in expected]
    assert list(zip((x or "" for x in table["N"].to_pylist()), table["V"].to_pylist(), strict=True)) == exact


# Parquet


def test_parquet_comes_back_typed_and_exact() -> None:
    rows = [row(**fields) for fields in ROWS]
    data = rendered(rows, profile(PARQUET, *columns(Column("NOTE", "note"))))
    table = pa.parquet.read_table(io.BytesIO(data))
    types = [str(table.schema.field(name).type) for name in ("NO", "VALUE", "AT", "IN", "TEXT")]
    assert types == ["int64", "decimal128(38, 18)", "timestamp[us, tz=UTC]", "date32[day]", "string"]
    assert table["NO"].to_pylist() == [1, 2, 3, 4, 5]
    assert table["VALUE"].to_pylist() == [Decimal(one.value_number) if one.value_number else None for one in rows]
    assert table["TEXT"].to_pylist() == [one.value_text or None for one in rows]
    assert table["AT"].to_pylist()[0] == datetime(2026, 7, 4, 14, 2, 11, 250000, UTC)
    assert table["IN"].to_pylist()[1] == date(2026, 2, 28)
    assert table["NOTE"].to_pylist()[0] == rows[0].note
    assert table["AT"].null_count == 4


def test_parquet_says_which_profile_made_it_and_which_field_each_column_is() -> None:
    schema = pa.parquet.read_schema(io.BytesIO(rendered([row()], profile(PARQUET, *columns()))))
    said = {key.decode(): value.decode() for key, value in schema.metadata.items()}
    assert said | {
        "delivery_id": "D-00007", "profile": "partner", "profile_version": "3", "profile_sha256": "ab" * 32,
        "produced_at": "2026-03-04T14:02:11.000Z",
    } == said  # fmt: skip
    assert schema.field("VALUE").metadata[b"field"] == b"value_number"


def test_parquet_of_the_same_rows_has_the_same_bytes_and_pandas_reads_it() -> None:
    rows = [row(**fields) for fields in ROWS]
    data = rendered(rows, profile(PARQUET, *columns()))
    assert data == rendered(rows, profile(PARQUET, *columns()))
    frame = pd.read_parquet(io.BytesIO(data))
    assert frame["VALUE"].tolist()[0] == Decimal("0.067")


@pytest.mark.parametrize("number", ["0.1234567890123456789", "123456789012345678901"])
def test_a_number_parquet_cannot_hold_is_refused_not_rounded(number: str) -> None:
    (problem,) = refused([row(value_number=number)], profile(PARQUET, *columns()))
    assert problem.code == "export.number-too-long"


def test_zeros_beyond_the_last_place_are_no_figures_lost() -> None:
    data = rendered([row(value_number="0.5" + "0" * 30)], profile(PARQUET, *columns()))
    assert pa.parquet.read_table(io.BytesIO(data))["VALUE"].to_pylist() == [Decimal("0.5")]


def test_every_number_and_date_field_has_its_type() -> None:
    assert WHOLE_NUMBERS < NUMBER_FIELDS
    assert DAYS < DATE_FIELDS
    (problem,) = refused([row(run_version="1.5")], profile(PARQUET, *columns(Column("RV", "run_version"))))
    assert problem.code == "export.not-a-number"


@pytest.mark.parametrize("fields", [{"received_at": "2026-02-28T10:00:00Z"}, {"measured_at": "2026-02-28"}])
def test_a_day_is_no_time_and_a_time_no_day(fields: dict[str, str]) -> None:
    (problem,) = refused([row(**fields)], profile(PARQUET, *columns()))
    assert problem.code == "export.date-unreadable"


def test_times_with_an_offset_are_the_same_moment() -> None:
    data = rendered([row(measured_at="2026-07-04T14:02:11+02:00")], profile(PARQUET, *columns()))
    assert pa.parquet.read_table(io.BytesIO(data))["AT"].to_pylist() == [datetime(2026, 7, 4, 12, 2, 11, tzinfo=UTC)]


# Words of each kind


def test_each_kind_has_its_suffix() -> None:
    kinds = {file.kind: suffix_of(profile(file)) for file in (DELIMITED, FIXED, LINES, PARQUET)}
    assert kinds == {"delimited": "csv", "fixed_width": "txt", "json_lines": "jsonl", "parquet": "parquet"}


CHANGE = Column("C", "change_kind", width=9)


@pytest.mark.parametrize("text", [".", "-", "--", "*", "none", "n/a", "k. A."])
@pytest.mark.parametrize("mark", [".", ","])
def test_zeros_are_put_before_numbers_alone(text: str, mark: Literal[".", ","]) -> None:
    """``.`` behind zeros is a number to ``float`` and ``Decimal``; so is ``-`` before them."""
    file = dataclasses.replace(FIXED, decimal_mark=mark)
    column = Column("V", "value_number", width=12, pad="zero", when_missing="text", missing_text=text)
    wanted = profile(file, column, *(
        Column(name.upper(), name, width=14) for name in ("reported_kind", "unit_ucum", "change_kind")
    ))  # fmt: skip
    values = ("", "-0.02", "0.50", "12")
    cells = [line[:12] for line in rendered([row(value_number=one) for one in values], wanted).decode().splitlines()]
    assert cells[0] == text.rjust(12)
    with pytest.raises(ValueError, match="could not convert"):
        float(cells[0].replace(",", "."))
    assert [Decimal(cell.replace(",", ".")) for cell in cells[1:]] == [Decimal(one) for one in values[1:]]
    assert cells[1:] == [one.replace(".", mark) for one in ("-00000000.02", "000000000.50", "000000000012")]


UNFIT: dict[str, tuple[FileForm, tuple[Column, ...], dict[str, Any], str]] = {
    "header line not said": (dataclasses.replace(DELIMITED, header_line=None), (), {}, "profile.file-word-missing"),
    "no separator": (dataclasses.replace(DELIMITED, separator=""), (), {}, "profile.file-word-missing"),
    "fixed without encoding": (dataclasses.replace(FIXED, encoding=""), (CHANGE,), {}, "profile.file-word-missing"),
    "fixed with separator": (dataclasses.replace(FIXED, separator=";"), (CHANGE,), {}, "profile.file-word-unfit"),
    "lines with quotes": (dataclasses.replace(LINES, quote="always"), (), {}, "profile.file-word-unfit"),
    "lines with header said": (dataclasses.replace(LINES, header_line=False), (), {}, "profile.file-word-unfit"),
    "parquet with mark": (dataclasses.replace(PARQUET, bom=True), (), {}, "profile.file-word-unfit"),
    "own lines in lines": (LINES, (), {"closing_lines": ("T",)}, "profile.lines-unfit"),
    "own lines in parquet": (PARQUET, (), {"opening_lines": ("T",)}, "profile.lines-unfit"),
    "fixed in utf-8": (dataclasses.replace(FIXED, encoding="utf-8"), (CHANGE,), {}, "profile.encoding-not-fixed"),
    "no width": (FIXED, (CHANGE, Column("N", "note")), {}, "profile.width-missing"),
    "title wider": (FIXED, (CHANGE, Column("NOTE", "note", width=3)), {}, "profile.width-unfit"),
    "width and length": (FIXED, (CHANGE, Column("N", "note", width=3, max_length=3)), {}, "profile.width-unfit"),
    "zeros before text": (FIXED, (CHANGE, Column("N", "note", width=3, pad="zero")), {}, "profile.pad-unfit"),
    "zeros behind": (
        FIXED, (CHANGE, Column("N", "row_no", width=3, pad="zero", align="left")), {}, "profile.pad-unfit",
    ),
    "width elsewhere": (LINES, (Column("N", "note", width=3),), {}, "profile.width-unfit"),
    "align elsewhere": (DELIMITED, (Column("N", "note", align="left"),), {}, "profile.width-unfit"),
    "text in a typed column": (
        PARQUET, (Column("N", "dilution_factor", when_missing="text", missing_text="none"),), {},
        "profile.missing-text-unfit",
    ),
    "form of a typed date": (PARQUET, (Column("N", "received_at", date_form="DD.MM"),), {}, "profile.form-unfit"),
    "value of record as decimal": (PARQUET, (Column("N", "value_unrounded"),), {}, "profile.number-may-not-fit"),
}  # fmt: skip


@pytest.mark.parametrize("name", UNFIT)
def test_words_that_do_not_fit_the_kind_of_file_are_refused(name: str) -> None:
    file, some, words, code = UNFIT[name]
    taken = some if any(one.field == "change_kind" for one in some) else (*some, Column("C", "change_kind"))
    problems = check_profile(profile(file, *taken, **words))
    assert [problem.code for problem in problems] == [code]
    assert problems[0].where.startswith("profile partner")
    assert refused([row()], profile(file, *taken, **words)) == problems
