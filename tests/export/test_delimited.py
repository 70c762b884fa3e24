"""Files read back by independent readers (the csv module, pandas, pyarrow) equal the rows to the last digit."""

from __future__ import annotations

import csv
import dataclasses
import hashlib
import io
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pandas as pd
import pyarrow as pa
import pyarrow.csv
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.export.cells import is_risky
from benchseal.export.profiles import check_profile
from benchseal.export.render import preview, render
from benchseal.records.encodings import CODECS
from benchseal.records.profile import Choose, Column, FileForm, Profile
from benchseal.records.released import Delivery, ReleasedRow, sealed
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from benchseal.problems import Problem

PLAIN_FILE = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
SEMICOLONS = FileForm("windows-1252", ";", "needed", "crlf", ",", header_line=True)
DELIVERY = Delivery("D-00007", 7, "2026-03-04T14:02:11.000Z", DocumentRef("partner", 3, "ab" * 32))
CHANGE = Column("CHANGE", "change_kind")


def row(**fields: str) -> ReleasedRow:
    base = {
        "result_id": "0" * 32,
        "lab_sample_id": "S-00001",
        "element_symbol": "Pb",
        "reported_kind": "measured",
        "value_text": "0.067",
        "value_number": "0.067",
        "unit_ucum": "ug/g",
        "unit_display": "µg/g",
    }
    return sealed(ReleasedRow(**{"revision": "1", "change_kind": "new", **base, **fields}))  # type: ignore[arg-type]


def profile(*columns: Column, file: FileForm = PLAIN_FILE, **words: Any) -> Profile:  # noqa: ANN401  any field of Profile
    base: dict[str, Any] = {
        "risky_text": "refuse",
        "choose": Choose(methods=("lead-furnace",)),
        "columns": (*columns, CHANGE),
    }
    return Profile(kind="profile", id="partner", title="Partner", file=file, **(base | words))


def rendered(rows: list[ReleasedRow], wanted: Profile) -> bytes:
    data = render(rows, wanted, DELIVERY)
    assert isinstance(data, bytes), data
    return data


def refused(rows: list[ReleasedRow], wanted: Profile) -> tuple[Problem, ...]:
    problems = render(rows, wanted, DELIVERY)
    assert isinstance(problems, tuple), problems
    return problems


def read_csv(data: bytes, file: FileForm) -> list[list[str]]:
    codec = {"utf-8": "utf-8-sig", "utf-16": "utf-16"}.get(file.encoding, CODECS[file.encoding])
    text = io.StringIO(data.decode(codec), newline="")
    if file.quote == "never":
        return list(csv.reader(text, delimiter=file.separator, strict=True, quoting=csv.QUOTE_NONE))
    return list(csv.reader(text, delimiter=file.separator, strict=True))


def read_pandas(data: bytes, file: FileForm) -> list[list[str]]:
    codec = {"utf-8": "utf-8-sig", "utf-16": "utf-16"}.get(file.encoding, CODECS[file.encoding])
    frame = pd.read_csv(
        io.BytesIO(data), sep=file.separator, dtype=str, keep_default_na=False, na_filter=False, encoding=codec
    )
    return [list(frame.columns), *frame.to_numpy().tolist()]


def read_pyarrow(data: bytes, file: FileForm) -> list[list[str]]:
    codec = {"utf-8": "utf-8-sig", "utf-16": "utf-16"}.get(file.encoding, CODECS[file.encoding])
    plain = data.decode(codec).encode("utf-8")
    names = read_csv(data, file)[0]
    table = pa.csv.read_csv(
        io.BytesIO(plain),
        parse_options=pa.csv.ParseOptions(delimiter=file.separator),
        convert_options=pa.csv.ConvertOptions(
            column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False
        ),
    )
    return [table.column_names, *(list(row.values()) for row in table.to_pylist())]


VALUES = (
    Column("ID", "result_id"),
    Column("SIGN", "qualifier"),
    Column("VALUE", "value_number"),
    Column("U", "expanded_uncertainty"),
    Column("UNIT", "unit_ucum"),
    Column("NOTE", "note"),
)


def test_both_readers_get_back_every_digit() -> None:
    rows = [
        row(result_id="a" * 32, value_number="0.06700", expanded_uncertainty="0.0200", note='two, "quoted"\nlines; ok'),
        row(result_id="b" * 32, qualifier="<", value_number="0.050", reported_kind="below_limit"),
        row(result_id="c" * 32, value_number="-0.0021", note="NA"),
        row(result_id="d" * 32, value_number="123456789012345678901234567890.123456789012345678", note="007"),
        row(result_id="e" * 32, value_number="", reported_kind="not_determined", note=" 1E5 "),
    ]
    for file in (PLAIN_FILE, SEMICOLONS, dataclasses.replace(PLAIN_FILE, quote="always", line_end="lf", bom=True)):
        expected = [["ID", "SIGN", "VALUE", "U", "UNIT", "NOTE", "CHANGE"]]
        for one in rows:
            number, u = (text.replace(".", file.decimal_mark) for text in (one.value_number, one.expanded_uncertainty))
            expected.append([one.result_id, one.qualifier, number, u, one.unit_ucum, one.note, "new"])
        data = rendered(rows, profile(*VALUES, file=file))
        assert read_csv(data, file) == expected
        assert read_pandas(data, file) == expected
        assert read_pyarrow(data, file) == expected


def test_decimal_commas_read_as_numbers_by_pandas() -> None:
    """pandas parses the commas itself, with exact digits where a double can show them."""
    rows = [row(value_number=text) for text in ("0.5", "-0.25", "1234.0625")]
    data = rendered(rows, profile(*VALUES, file=SEMICOLONS))
    frame = pd.read_csv(io.BytesIO(data), sep=";", decimal=",", encoding="cp1252")
    assert frame["VALUE"].tolist() == [0.5, -0.25, 1234.0625]


def test_a_decimal_comma_between_comma_separators_is_quoted() -> None:
    file = dataclasses.replace(PLAIN_FILE, decimal_mark=",")
    data = rendered([row(value_number="0.067")], profile(*VALUES, file=file))
    assert b',"0,067",' in data
    assert read_csv(data, file)[1][2] == "0,067"


def test_exact_bytes_of_a_whole_file() -> None:
    wanted = profile(
        Column("ROW", "row_no"),
        Column("LAB", fixed="TQ"),
        Column("VALUE", "value_number"),
        Column("SIGN", "qualifier"),
        Column("UNIT", "unit_display"),
        file=SEMICOLONS,
        opening_lines=("H;{delivery_id};{produced_at};{profile_name};{profile_version}",),
        closing_lines=("T;{row_count};{sum_of:value_number};{sha256_of_rows}",),
    )
    rows = [row(value_number="0.067"), row(value_number="-0.017"), row(value_number="")]
    table = "1;TQ;0,067;;µg/g;new\r\n2;TQ;-0,017;;µg/g;new\r\n3;TQ;;;µg/g;new\r\n".encode("cp1252")
    assert rendered(rows, wanted) == (
        b"H;D-00007;2026-03-04T14:02:11.000Z;partner;3\r\n"
        b"ROW;LAB;VALUE;SIGN;UNIT;CHANGE\r\n" + table + f"T;3;0,050;{hashlib.sha256(table).hexdigest()}\r\n".encode()
    )
    assert rendered(rows, wanted) == rendered(rows, wanted)


def test_a_row_of_one_empty_cell_is_no_blank_line() -> None:
    wanted = dataclasses.replace(profile(), columns=(Column("CHANGE", "change_kind", map={"new": ""}),))
    assert rendered([row(), row()], wanted) == b'CHANGE\r\n""\r\n""\r\n'


def test_no_rows_give_the_header_alone() -> None:
    assert rendered([], profile(Column("ID", "result_id"))) == b"ID,CHANGE\r\n"
    unheaded = profile(Column("ID", "result_id"), file=dataclasses.replace(PLAIN_FILE, header_line=False))
    assert rendered([], unheaded) == b""


# OWASP ASVS 5.0.0, 1.2.10 (= + - @ tab NUL at the start of a cell), with carriage return and full-width forms.
RISKY = {
    "equals": "=1+1",
    "equals in quotes": '="a"',
    "plus": "+49 40 123",
    "minus": "-lot 7",
    "minus alone": "-",
    "minus then letters": "-2+3",
    "at": "@SUM(A1)",
    "tab": "\tx",
    "carriage return": "\r=x",
    "line feed": "\nx",
    "NUL": "\0x",
    "full-width equals": "\uff1d1",
    "full-width plus": "\uff0b1",
    "full-width minus": "\uff0d1",
    "full-width at": "\uff20x",
    "small equals": "\ufe661",
    "blank then equals": " =1",
    "no-break space then at": "\u00a0@x",
    "invisible space then equals": "\u200b=1",
    "byte order mark then plus": "\ufeff+1",
    "command": "=cmd|' /C x'!A0",
}
HARMLESS = ("", "-0.02", "-17", "a=b", "lot 7-3", "x@y", "1+1", "<0.050", "'=1", "µg")


@pytest.mark.parametrize("text", RISKY.values(), ids=RISKY.keys())
def test_risky_text_is_refused(text: str) -> None:
    (problem,) = refused([row(), row(note=text)], profile(Column("NOTE", "note")))
    assert problem.code == "export.risky-text"
    assert problem.where == f"row 2 (S-00001 Pb, result {'0' * 32}), column NOTE"


@pytest.mark.parametrize("text", [text for text in RISKY.values() if not {"\0", "\ufeff"} & set(text)])
def test_risky_text_is_prefixed_or_kept_where_the_profile_says_so(text: str) -> None:
    for words, expected in (("prefix", "'" + text), ("keep", text)):
        data = rendered([row(note=text)], profile(Column("NOTE", "note"), risky_text=words))
        assert read_csv(data, PLAIN_FILE)[1] == [expected, "new"]


@pytest.mark.parametrize("words", ["refuse", "prefix", "keep"])
def test_harmless_text_and_negative_numbers_are_never_touched(words: str) -> None:
    columns = (Column("NOTE", "note"), Column("VALUE", "value_number"), *VALUES[1:2], Column("UNIT", "unit_ucum"))
    for text in HARMLESS:
        data = rendered([row(note=text, value_number="-0.0210")], profile(*columns, risky_text=words))
        assert read_csv(data, PLAIN_FILE)[1] == [text, "-0.0210", "", "ug/g", "new"]


@pytest.mark.parametrize("text", ["a\0b", "a\x07b", "a\x85b", "a\x0cb", "a\x7fb", "\ufeffa"])
@pytest.mark.parametrize("words", ["refuse", "prefix", "keep"])
def test_control_characters_are_always_refused(text: str, words: str) -> None:
    (problem,) = refused([row(note=text)], profile(Column("NOTE", "note"), risky_text=words))
    assert problem.code == "export.control-character"


ENCODINGS = {
    "us-ascii": ("ug/g", "µ"),
    "iso-8859-1": ("µg, dm², é", "€"),
    "iso-8859-2": ("łąžő", "µ"),
    "iso-8859-15": ("€ µ", "Ω"),
    "windows-1250": ("łąžő€µ", "Ω"),
    "windows-1251": ("свинец µ", "é"),
    "windows-1252": ("µg/g €, ²", "\u03bcg/g"),  # the micro sign is in it, the Greek letter is not
    "cp437": ("µ²é", "Ł"),
    "cp850": ("µ²ãÐ", "€"),
}


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_code_pages_carry_what_they_have_and_refuse_the_rest(encoding: Any) -> None:  # noqa: ANN401  an Encoding
    has, has_not = ENCODINGS[encoding]
    file = dataclasses.replace(PLAIN_FILE, encoding=encoding)
    wanted = profile(Column("NOTE", "note"), file=file)
    assert read_csv(rendered([row(note=has)], wanted), file)[1][0] == has
    (problem,) = refused([row(note=has), row(note=has_not, lab_sample_id="S-00009")], wanted)
    assert problem.code == "export.not-in-encoding"
    assert problem.where.startswith("row 2 (S-00009 Pb")
    assert problem.where.endswith("column NOTE")
    assert f"U+{ord(has_not[0]):04X}" in problem.what
    assert encoding in problem.what


def test_byte_order_marks() -> None:
    utf_8 = rendered([row()], profile(Column("ID", "result_id"), file=dataclasses.replace(PLAIN_FILE, bom=True)))
    assert utf_8.startswith(b"\xef\xbb\xbfID,")
    utf_16_file = dataclasses.replace(PLAIN_FILE, encoding="utf-16")
    utf_16 = rendered([row(note="свинец 鉛")], profile(Column("N", "note"), file=utf_16_file))
    assert utf_16.startswith(b"\xff\xfeN\0,\0")
    assert read_csv(utf_16, utf_16_file)[1][0] == "свинец 鉛"
    assert not rendered([row()], profile(Column("ID", "result_id"))).startswith(b"\xef")


def test_half_a_surrogate_pair_is_refused() -> None:
    bad = dataclasses.replace(row(), note="a\ud800")
    (problem,) = refused([bad], profile(Column("NOTE", "note")))
    assert problem.code == "export.not-in-encoding"


REFUSED_CELLS = {
    "missing where it must not": (Column("C", "lot_id", when_missing="refuse"), {}, "export.missing"),
    "code not on the map": (Column("C", "element_symbol", map={"Cd": "1"}), {}, "export.unmapped"),
    "longer than allowed": (Column("C", "note", max_length=3), {"note": "four"}, "export.too-long"),
    "not a number": (Column("C", "spec_low", unit="ug/g"), {"spec_low": "1e3"}, "export.not-a-number"),
    "no number in figures of another script": (
        Column("C", "spec_low", unit="ug/g"), {"spec_low": "\u0661"}, "export.not-a-number",
    ),
    "impossible date": (Column("C", "received_at"), {"received_at": "2026-02-30"}, "export.date-unreadable"),
    "time without offset": (
        Column("C", "measured_at"), {"measured_at": "2026-02-03T10:00:00"}, "export.date-unreadable",
    ),
    "time of day asked of a date": (
        Column("C", "measured_at", date_form="DD.MM.YYYY HH:mm ZZ"),
        {"measured_at": "2026-02-03"}, "export.date-unreadable",
    ),
    "other unit than the column's": (
        Column("C", "value_number", unit="mg/kg"), {"qualifier": ""}, "export.unit-differs",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("column", "fields", "code"), REFUSED_CELLS.values(), ids=REFUSED_CELLS.keys())
def test_refused_cells(column: Column, fields: dict[str, str], code: str) -> None:
    problems = refused([row(**fields)], profile(column, Column("KIND", "reported_kind")))
    assert [problem.code for problem in problems] == [code]
    assert "column C" in problems[0].where


@pytest.mark.parametrize("column", ["value_text", "value_number", "value_unrounded"])
@pytest.mark.parametrize(
    ("fields", "code", "shown_by"),
    [
        pytest.param({"basis": "dry"}, "export.basis-not-shown", ("basis",), id="dry"),
        pytest.param(
            {"expressed_as": "CaCO3"},
            "export.substance-not-shown",
            ("expressed_as", "analyte_name"),
            id="as a substance",
        ),
        pytest.param({"sum_elements": "Pb Cd"}, "export.sum-not-shown", ("sum_elements", "analyte_name"), id="a sum"),
    ],
)
def test_a_value_that_would_be_misread_is_refused_until_a_column_says_what_it_is(
    column: str, fields: dict[str, str], code: str, shown_by: tuple[str, ...]
) -> None:
    columns = (Column("C", column), Column("U", "unit_ucum"), Column("KIND", "reported_kind"))
    held = row(value_unrounded="0.0671", **fields)
    (problem,) = refused([held], profile(*columns))
    assert (problem.code, "column C" in problem.where) == (code, True)
    (cell,) = (cell for cell in preview([held], profile(*columns))[0] if cell.title == "C")
    assert cell.problem == problem
    assert rendered([row(value_unrounded="0.0671")], profile(*columns))
    for field in shown_by:
        assert rendered([held], profile(*columns, Column("S", field)))
    lost = row(value_text="", value_number="", value_unrounded="", reported_kind="not_determined", **fields)
    assert rendered([lost], profile(*columns))


def test_a_row_without_a_value_fits_a_column_of_any_unit() -> None:
    lost = row(value_number="", value_text="", reported_kind="not_determined")
    wanted = profile(Column("V", "value_number", unit="mg/kg"), Column("KIND", "reported_kind"))
    assert read_csv(rendered([lost], wanted), PLAIN_FILE)[1] == ["", "not_determined", "new"]


def test_all_problems_are_told_at_once() -> None:
    wanted = profile(Column("A", "lot_id", when_missing="refuse"), Column("B", "note"))
    problems = refused([row(note="=1"), row(lot_id="L"), row(note="@2")], wanted)
    assert [(problem.code, problem.where[:5]) for problem in problems] == [
        ("export.missing", "row 1"),
        ("export.missing", "row 3"),
        ("export.risky-text", "row 1"),
        ("export.risky-text", "row 3"),
    ]


@pytest.mark.parametrize("text", ["a,b", 'a"b', "a\nb", "a\rb", " a", "a "])
def test_without_quotes_a_cell_that_needs_them_is_refused(text: str) -> None:
    file = dataclasses.replace(PLAIN_FILE, quote="never")
    (problem,) = refused([row(note=text)], profile(Column("NOTE", "note"), file=file))
    assert problem.code == "export.needs-quotes"
    assert read_csv(rendered([row(note="a b")], profile(Column("NOTE", "note"), file=file)), file)[1][0] == "a b"


def test_maps_missing_text_and_fixed_text() -> None:
    wanted = profile(
        Column("E", "element_symbol", map={"Pb": "LEAD"}, when_unmapped="keep"),
        Column("LOT", "lot_id", when_missing="text", missing_text="none given"),
        Column("V", "verdict"),
        Column("LAB", fixed="TQ 1"),
    )
    data = rendered([row(), row(element_symbol="Cd", lot_id="A-1", verdict="pass")], wanted)
    assert read_csv(data, PLAIN_FILE)[1:] == [
        ["LEAD", "none given", "", "TQ 1", "new"],
        ["Cd", "A-1", "pass", "TQ 1", "new"],
    ]


def test_dates_are_written_in_the_form_and_zone_of_their_column() -> None:
    columns = (
        Column("AT", "measured_at", date_form="DD.MM.YYYY HH:mm ZZ", zone="Europe/Berlin"),
        Column("ISO", "measured_at"),
        Column("ON", "received_at", date_form="DD.MM.YYYY", zone="Pacific/Auckland"),
    )
    data = rendered([row(measured_at="2026-07-04T14:02:11Z", received_at="2026-03-04")], profile(*columns))
    expected = ["04.07.2026 16:02 +02:00", "2026-07-04T14:02:11Z", "04.03.2026", "new"]
    assert read_csv(data, PLAIN_FILE)[1] == expected


def test_preview_names_the_field_of_each_cell_and_shows_problems_in_place() -> None:
    wanted = profile(
        Column("LAB", fixed="TQ"), Column("NOTE", "note"), Column("ID", "delivery_id"), *VALUES[1:3], VALUES[4]
    )
    first, second = preview([row(note='a "b"'), row(note="=1", value_number="0.5")], wanted)
    assert [(cell.title, cell.field, cell.form, cell.text) for cell in first] == [
        ("LAB", "", "text", "TQ"),
        ("NOTE", "note", "text", 'a "b"'),  # as the receiver reads it, not as the file quotes it
        ("ID", "delivery_id", "text", "not-yet"),
        ("SIGN", "qualifier", "text", ""),
        ("VALUE", "value_number", "number", "0.067"),
        ("UNIT", "unit_ucum", "text", "ug/g"),
        ("CHANGE", "change_kind", "text", "new"),
    ]
    assert all(cell.problem is None for cell in first)
    assert [cell.problem.code for cell in second if cell.problem] == ["export.risky-text"]
    assert second[4].text == "0.5"
    assert preview([], wanted) == ()


def test_an_unsound_profile_is_refused_before_any_row() -> None:
    wanted = dataclasses.replace(profile(Column("N", "note")), columns=(Column("N", "note"),))
    assert [problem.code for problem in refused([row(note="=1")], wanted)] == ["profile.change-not-shown"]


LETTERS = st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufeff")
TEXTS = st.text(st.one_of(LETTERS, st.sampled_from(',;"\r\n\t|= ')), max_size=12)
NUMBERS = st.builds(
    lambda sign, whole, places: f"{sign}{whole}" + (f".{places}" if places else ""),
    st.sampled_from(["", "-"]),
    st.from_regex(r"[0-9]{1,30}", fullmatch=True),
    st.from_regex(r"[0-9]{0,30}", fullmatch=True),
)
FILES = st.builds(
    FileForm,
    encoding=st.sampled_from(["utf-8", "utf-16"]),
    separator=st.sampled_from([",", ";", "\t", "|"]),
    quote=st.sampled_from(["needed", "always"]),
    line_end=st.sampled_from(["crlf", "lf"]),
    decimal_mark=st.sampled_from([".", ","]),
    header_line=st.booleans(),
)


@given(st.lists(st.tuples(TEXTS, NUMBERS, TEXTS), min_size=1, max_size=5), FILES)
def test_any_text_and_any_number_come_back_as_they_went_in(cells: list[tuple[str, str, str]], file: FileForm) -> None:
    rows = [dataclasses.replace(row(), note=note, value_number=number, lot_id=lot) for note, number, lot in cells]
    columns = (Column("N", "note"), *VALUES[1:3], Column("UNIT", "unit_ucum"), Column("L", "lot_id"))
    data = rendered(rows, profile(*columns, file=file, risky_text="keep", closing_lines=("{sum_of:value_number}",)))
    *table, total = read_csv(data, file)[int(bool(file.header_line)) :]
    assert table == [
        [note, "", number.replace(".", file.decimal_mark), "ug/g", lot, "new"] for note, number, lot in cells
    ]
    exact = sum((Fraction(number) for _, number, _ in cells), Fraction(0))
    assert Fraction(",".join(total).replace(",", ".")) == exact


@given(TEXTS)
def test_under_refuse_no_risky_cell_reaches_the_file(text: str) -> None:
    outcome = render([dataclasses.replace(row(), note=text)], profile(Column("NOTE", "note")), DELIVERY)
    if isinstance(outcome, bytes):
        assert not is_risky(read_csv(outcome, PLAIN_FILE)[1][0])
        assert not is_risky(text)
    else:
        assert is_risky(text)


@pytest.mark.parametrize("text", ["-", "--", "---"])
@pytest.mark.parametrize("risky", ["refuse", "prefix"])
def test_a_lone_sign_that_is_listed_for_nothing_yes_or_no_is_written_as_it_is(text: str, risky: str) -> None:
    missing = Column("M", "spec_low", unit="ug/g", when_missing="text", missing_text=text)
    flag = Column("F", "verdict", form="flag", holds=("fail", "conditional_fail"), yes="+", no="-")
    more = (missing, flag, Column("X", fixed=text))
    data = rendered([dataclasses.replace(row(), verdict="pass")], profile(*more, risky_text=risky))
    assert read_csv(data, PLAIN_FILE)[1] == [text, "-", text, "new"]


@pytest.mark.parametrize("text", ["----", "-1+1", "+a", "- -", "=", "@"])
def test_any_other_text_of_the_profile_that_begins_like_a_formula_is_refused(text: str) -> None:
    found = check_profile(profile(Column("X", fixed=text), risky_text="refuse"))
    assert "profile.risky-text" in {problem.code for problem in found}


@given(NUMBERS)
def test_a_number_is_never_risky(number: str) -> None:
    assert not is_risky(number)
