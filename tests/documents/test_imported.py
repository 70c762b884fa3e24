"""Orders of other systems: what a profile makes of a file, every refusal, and files an export profile wrote."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchseal.documents.imported import imported_rows
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.documents.rules_import_profile import import_profile_faults
from benchseal.documents.sheets import read_imported_samples
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.import_profile import ImportColumn, ImportFile, ImportProfile
from benchseal.records.shape import plain_of, record_of
from benchseal.shipped import starter

if TYPE_CHECKING:
    from benchseal.records.registers import SampleRow

SAMPLES = Path(__file__).parents[2] / "fixtures" / "schemas" / "import_profile"
HEADER = "LOT;ARTICLE;SAMPLE;WHAT;IN;PRIORITY;ORDER;AMOUNT;TAKEN\n"
ROWS = 'L-1;ZL;007;"a; ""b""";02.03.2026;high;1E5;30 pieces;\nL-2;ZL;05-03/X;;03.03.2026;;PO 7;30;01.03.2026\n'


def profile(text: str = "", **changes: Any) -> ImportProfile:  # noqa: ANN401  any field
    read = read_document((text or (SAMPLES / "good.yaml").read_text("utf-8")).encode(), "p.yaml")
    assert isinstance(read, ControlledDocument), read
    assert isinstance(read.value, ImportProfile)
    return replace(read.value, **changes)


PROFILE = profile()


def file(rows: str = ROWS, header: str = HEADER, first: str = "H;7;ORDERS\n", last: str | None = None) -> bytes:
    end = f"T;{rows.count(chr(10))};{digest(rows.encode('cp1252'))}\n" if last is None else last
    return (first + header + rows + end).encode("cp1252")


def samples(data: bytes, by: ImportProfile = PROFILE) -> tuple[SampleRow, ...]:
    read = read_imported_samples(data, "orders.csv", by)
    assert read, read
    assert not isinstance(read[0], Problem), read
    rows: Any = read[0]
    return tuple(rows)


def codes(data: bytes, by: ImportProfile = PROFILE) -> list[tuple[str, str]]:
    """Code and place of each problem."""
    read = read_imported_samples(data, "o", by)
    return [(each.code, each.where) for each in read if isinstance(each, Problem)]


def test_text_stays_text_and_days_become_days() -> None:
    first, second = samples(file())
    assert (first.lot, first.product, first.customer_sample_id, first.order) == ("L-1", "Zinc lozenges", "007", "1E5")
    assert first.description == 'a; "b"'
    assert (first.received_on, first.sampled_on) == ("2026-03-02", "")
    assert (second.description, second.sampled_on) == ("not described", "2026-03-01")
    assert {(row.customer, row.specification, row.condition) for row in (first, second)} == {
        ("ardlea", "zinc-lozenges", "as sent")
    }
    assert samples(file().replace(b"\n", b"\r\n"), replace(PROFILE, closing_lines=("T;{row_count};{any}",)))


@pytest.mark.parametrize(
    ("form", "first", "second", "bad"),
    [
        ("YYYYMMDD", "20260302", "20260303", "2026302"),
        ("DDMMYYYY", "02032026", "03032026", "2032026"),
        ("YYMMDD", "260302", "260303", "26032"),
        ("DDMMMYYYY", "02MAR2026", "03Mar2026", "2MAR2026"),
    ],
)
def test_days_without_separators(form: str, first: str, second: str, bad: str) -> None:
    columns = tuple(replace(each, date_form=form) if each.title == "IN" else each for each in PROFILE.columns)
    by = replace(PROFILE, columns=columns)
    assert not list(import_profile_faults(by))
    rows = ROWS.replace("02.03.2026", first).replace("03.03.2026", second)
    assert [row.received_on for row in samples(file(rows), by)] == ["2026-03-02", "2026-03-03"]
    assert codes(file(rows.replace(first, bad)), by) == [("import.date-unreadable", "o, line 3, cell 5 (IN)")]


@pytest.mark.parametrize("field", ["order", "sampled_on", "customer_sample_id", "sampled_by"])
def test_a_column_the_file_lacks_may_be_fixed_to_nothing_where_it_may_stay_empty(field: str) -> None:
    text = (SAMPLES / "good.yaml").read_text("utf-8")
    (line,) = [one for one in text.splitlines() if f"field: {field}," in one or f"field: {field}}}" in one]
    by = profile(text.replace(line, f"  - {{field: {field}, fixed: ''}}"))
    cut = [column.title for column in PROFILE.columns if column.in_file]
    gone = {column.field: nth for nth, column in enumerate(one for one in PROFILE.columns if one.in_file)}.get(field)
    due = [index for index in range(len(cut)) if index != gone]
    lines = list(csv.reader(ROWS.splitlines(), delimiter=";"))
    rows = "".join(";".join('"a; ""b"""' if '"' in row[n] else row[n] for n in due) + "\n" for row in lines)
    header = ";".join(cut[n] for n in due) + "\n"
    assert {getattr(row, field) for row in samples(file(rows, header), by)} == {""}
    again = record_of(ImportProfile, plain_of(by))
    assert again == by, "nothing is lost where the record is written and read"


def test_each_row_names_its_place() -> None:
    read = read_imported_samples(file(), "orders.csv", PROFILE)
    assert read[1] == ("orders.csv, line 3", "orders.csv, line 4")


def test_a_count_with_zeros_before_it_is_that_count() -> None:
    assert codes(file(last=f"T;0002;{digest(ROWS.encode())}\n")) == []
    assert codes(file(last=f"T;0003;{digest(ROWS.encode())}\n")) == [("import.count-differs", "o, line 5")]
    assert codes(file(last=f"T;2;0{digest(ROWS.encode())}\n")) == [("import.count-differs", "o, line 5")]


def test_a_missing_closing_line_is_said_to_be_missing() -> None:
    problem = read_imported_samples(file(last=""), "o", PROFILE)[0]
    assert isinstance(problem, Problem)
    assert "closing line 'T;{row_count};{sha256_of_rows}' is missing" in problem.what
    assert "may be cut off" in problem.what
    other = read_imported_samples(file(last="Z;2\n"), "o", PROFILE)[0]
    assert isinstance(other, Problem)
    assert "'Z;2' stands where 'T;" in other.what


BAD: dict[str, tuple[bytes, str, str]] = {
    "another first line": (file(first="X;7;ORDERS\n"), "import.line-differs", "o, line 1"),
    "a first line that goes on": (file(first="H;7;ORDERS;more\n"), "import.line-differs", "o, line 1"),
    "a count that differs": (file(last=f"T;3;{digest(ROWS.encode())}\n"), "import.count-differs", "o, line 5"),
    "a digest that differs": (file(last=f"T;2;{'0' * 64}\n"), "import.count-differs", "o, line 5"),
    "cut off": (file(last=""), "import.line-differs", "o, line 4"),
    "nothing but lines": (b"H;7;ORDERS\n", "import.lines-missing", "o"),
    "empty": (b"", "import.lines-missing", "o"),
    "a header renamed": (file(header=HEADER.replace("LOT", "BATCH")), "import.header-differs", "o, line 2"),
    "a column more": (file(header=HEADER.replace("LOT", "LOT;X")), "import.header-differs", "o, line 2"),
    "a cell more": (file(ROWS.replace("high", "high;x")), "import.row-unfit", "o, line 3"),
    "a quote left open": (file(ROWS.replace("PO 7", '"PO 7')), "import.row-unfit", "o, line 4"),
    "a blank row": (file(ROWS + "\n"), "import.row-unfit", "o, line 5"),
    "no rows": (file(""), "documents.sheet-empty", "o"),
    "an article nobody knows": (file(ROWS.replace("ZL", "XX", 1)), "import.unmapped", "o, line 3, cell 2 (ARTICLE)"),
    "no lot": (file(ROWS.replace("L-1", "")), "import.missing", "o, line 3, cell 1 (LOT)"),
    "a day that is none": (
        file(ROWS.replace("02.03", "30.02")), "import.date-unreadable", "o, line 3, cell 5 (IN)",
    ),
    "a day of another form": (
        file(ROWS.replace("02.03.2026", "2026-03-02")), "import.date-unreadable", "o, line 3, cell 5 (IN)",
    ),
    "a day after receipt": (file(ROWS.replace("01.03.2026", "05.03.2026")), "documents.date-order", "o, line 4"),
    "a name too long": (file(ROWS.replace("007", "x" * 65)), "documents.value-unfit", "o, line 3, cell 3"),
    "what a spreadsheet made": (file(ROWS.replace("007", "1E+05")), "documents.cell-damaged", "o, line 3, cell 3"),
    "a formula": (file(ROWS.replace("007", "=1+1")), "documents.cell-not-text", "o, line 3, cell 3"),
    "a control sign": (file(ROWS.replace("007", "0\x0007")), "documents.control-sign", "o, line 3"),
    "a byte the encoding has not": (file().replace(b"007", b"0\x817"), "documents.byte-undecodable", "o, line 3"),
    "a carriage return alone": (file().replace(b"007", b"0\r7"), "import.row-unfit", "o"),
    "the same row twice": (file(ROWS + ROWS), "documents.row-twice", "o, line 5"),
    "a cell beyond reading": (file(ROWS.replace("007", "y" * 3000)), "documents.too-large", "o, line 3, cell 3"),
}  # fmt: skip


ALL_AT_ONCE: dict[str, tuple[bytes, list[tuple[str, str]]]] = {
    "a count and a day": (
        file(ROWS.replace("02.03", "30.02"), last=f"T;3;{digest(ROWS.replace('02.03', '30.02').encode())}\n"),
        [("import.count-differs", "o, line 5"), ("import.date-unreadable", "o, line 3, cell 5 (IN)")],
    ),
    "two cells of one row": (
        file(ROWS.replace("007", "#REF!").replace("02.03.2026", "02.03.26")),
        [("documents.cell-not-text", "o, line 3, cell 3"), ("import.date-unreadable", "o, line 3, cell 5 (IN)")],
    ),
    "a day, and what a spreadsheet made, in one row": (
        file(ROWS.replace("02.03.2026", "02.03.26").replace("L-1", "05-Mar")),
        [("import.date-unreadable", "o, line 3, cell 5 (IN)"), ("documents.cell-damaged", "o, line 3, cell 1 (lot)")],
    ),
    "a row that cannot be cut, and a day of another": (
        file(ROWS.replace("high", "high;x").replace("03.03.2026", "soon")),
        [("import.row-unfit", "o, line 3"), ("import.date-unreadable", "o, line 4, cell 5 (IN)")],
    ),
    "another first line and no lot": (
        file(ROWS.replace("L-1", ""), first="X;7;ORDERS\n"),
        [("import.line-differs", "o, line 1"), ("import.missing", "o, line 3, cell 1 (LOT)")],
    ),
    "other columns: nobody knows what stands in which": (
        file(ROWS.replace("02.03", "30.02"), HEADER.replace("LOT", "BATCH")),
        [("import.header-differs", "o, line 2")],
    ),
}


def test_a_file_without_a_closing_line_that_stops_within_a_line_is_refused() -> None:
    by = profile(closing_lines=())
    assert codes(file(last=""), by) == []
    assert codes(file(ROWS[:-1], last=""), by) == [("documents.line-end-missing", "o, line 4")]
    assert codes(file(last=None)[:-1]) == []  # the closing line counts the rows


@pytest.mark.parametrize("case", list(ALL_AT_ONCE))
def test_all_problems_of_a_file_at_once(case: str) -> None:
    data, due = ALL_AT_ONCE[case]
    assert codes(data) == due


@pytest.mark.parametrize("case", list(BAD))
def test_every_fault_has_its_code_and_place(case: str) -> None:
    data, code, place = BAD[case]
    found = codes(data)
    assert any(one == code and where.startswith(place) for one, where in found), found


@pytest.mark.parametrize("cell", ["1E+05", "05-Mar", "#N/A", "=A1", "0  07"])
def test_the_remedy_is_for_the_sender_where_nobody_here_typed_the_cell(cell: str) -> None:
    problem, *more = read_imported_samples(file(ROWS.replace("007", cell, 1)), "o", PROFILE)
    assert not more
    assert isinstance(problem, Problem)
    assert problem.remedy.startswith("Ask the sender")
    assert "typ" not in problem.remedy


def test_a_cell_no_reader_takes_is_named() -> None:
    (problem,) = read_imported_samples(file(ROWS.replace("007", "y" * 140_000)), "o", PROFILE)[:1]
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.too-large", "o, line 3")
    assert "131072 signs" in problem.what


def test_all_problems_at_once() -> None:
    bad = ROWS.replace("ZL", "XX").replace("L-1", "").replace("03.03", "31.02")
    assert [code for code, _ in codes(file(bad))] == [
        "import.missing", "import.unmapped", "import.unmapped", "import.date-unreadable",
    ]  # fmt: skip


def test_too_large_a_file_is_not_read() -> None:
    assert codes(b"x" * (16 * 2**20 + 1)) == [("documents.too-large", "o")]


# Other kinds of file

WIDTHS = tuple(
    replace(column, width=20 if column.in_file else 0, when_missing="empty", missing_text="")
    for column in PROFILE.columns
)
FIXED = replace(
    PROFILE, file=ImportFile("fixed_width", "iso-8859-1", header_line=False), columns=WIDTHS, opening_lines=(),
    closing_lines=("{row_count} rows",),
)  # fmt: skip
LINES = replace(PROFILE, file=ImportFile("json_lines"), opening_lines=(), closing_lines=())
CELLS = ["L-1", "ZL", "007", "what", "02.03.2026", "high", "1E5", "30", ""]
TITLES = [column.title for column in PROFILE.columns if column.in_file]


def fixed(cells: list[str]) -> bytes:
    return ("".join(cell.ljust(20) for cell in cells).rstrip() + "\n1 rows\n").encode("latin-1")


def test_fixed_widths() -> None:
    (row,) = samples(fixed(CELLS), FIXED)
    assert (row.lot, row.customer_sample_id, row.order, row.sampled_on) == ("L-1", "007", "1E5", "")
    assert codes(fixed([*CELLS[:-1], "", "more"]), FIXED)[0][0] == "import.row-unfit"
    named = replace(FIXED, file=replace(FIXED.file, header_line=True))
    header = "".join(title.ljust(20) for title in TITLES).encode()
    assert samples(header + b"\n" + fixed(CELLS), named) == (row,)
    assert codes(header.replace(b"LOT", b"TOL") + b"\n" + fixed(CELLS), named)[0][0] == "import.header-differs"


def test_lines_of_json() -> None:
    value: dict[str, Any] = dict(zip(TITLES, CELLS, strict=True))
    (row,) = samples(json.dumps(value).encode(), LINES)
    assert (row.customer_sample_id, row.order) == ("007", "1E5")
    (number,) = samples(json.dumps(value | {"AMOUNT": 30.50}).replace("30.5", "30.50").encode(), LINES)
    assert number.quantity_received == "30.50"
    (nothing,) = samples(json.dumps(value | {"TAKEN": None}).encode(), LINES)
    assert nothing.sampled_on == ""
    for bad, code in (
        (value | {"MORE": "x"}, "import.header-differs"), (value | {"AMOUNT": True}, "import.row-unfit"),
        (value | {"AMOUNT": ["x"]}, "import.row-unfit"), ([1], "import.header-differs"),
    ):  # fmt: skip
        assert codes(json.dumps(bad).encode(), LINES)[0][0] == code
    for text in (b"{", b'{"LOT": NaN}', b'{"LOT": "a", "LOT": "b"}', b"[" * 5000):
        assert codes(text, LINES)[0][0] == "import.row-unfit"


def test_utf_16_has_its_mark() -> None:
    by = replace(PROFILE, file=replace(PROFILE.file, encoding="utf-16"), closing_lines=("T;{row_count};{any}",))
    text = file().decode("cp1252")
    assert len(samples(text.encode("utf-16"), by)) == 2
    assert codes(text.encode("utf-16-le"), by)[0][0] == "documents.byte-undecodable"


@pytest.mark.parametrize(("codec", "mark"), [("utf-16-le", b"\xff\xfe"), ("utf-16-be", b"\xfe\xff")])
def test_the_digest_is_of_the_bytes_of_the_file_in_either_order(codec: str, mark: bytes) -> None:
    by = replace(PROFILE, file=replace(PROFILE.file, encoding="utf-16"))
    rows = ROWS.replace("PO 7", "für 7")
    for own, due in ((codec, []), ("utf-16-be" if codec == "utf-16-le" else "utf-16-le", ["import.count-differs"])):
        end = f"T;2;{digest(rows.encode(own))}\n"
        data = mark + ("H;7;ORDERS\n" + HEADER + rows + end).encode(codec)
        assert [code for code, _ in codes(data, by)] == due
    bare = replace(by, opening_lines=(), file=replace(by.file, header_line=False))
    data = mark + (rows + f"T;2;{digest(rows.encode(codec))}\n").encode(codec)
    assert codes(data, bare) == [], "the mark is no part of the rows"


@pytest.mark.parametrize("kind", ["delimited", "fixed_width"])
@pytest.mark.parametrize("encoding", ["windows-1252", "iso-8859-1", "iso-8859-15", "cp437", "cp850"])
def test_utf_8_under_a_code_of_one_byte_is_refused(kind: str, encoding: Any) -> None:  # noqa: ANN401  a word of it
    """Nothing is said of a word that came in as others, and nobody looks for it afterwards."""
    if kind == "delimited":
        by = replace(PROFILE, file=replace(PROFILE.file, encoding=encoding), closing_lines=())
        text, line = file(ROWS.replace("PO 7", "für 7"), last="").decode("cp1252"), 4
    else:
        by = replace(FIXED, file=replace(FIXED.file, encoding=encoding))
        text, line = fixed(["L-1", "ZL", "007", "für", "02.03.2026", "high", "1E5", "30", ""]).decode("latin-1"), 1
    codec = {"windows-1252": "cp1252"}.get(encoding, encoding)
    assert codes(text.encode(codec), by) == []
    assert codes(text.encode("utf-8"), by) == [("documents.encoding-differs", f"o, line {line}")]


@pytest.mark.parametrize("header_line", [True, False])
def test_the_mark_of_utf_8_is_no_part_of_the_first_lot(header_line: bool) -> None:
    by = replace(PROFILE, file=replace(PROFILE.file, header_line=header_line), opening_lines=(), closing_lines=())
    data = ((HEADER if header_line else "") + ROWS).encode()
    assert codes(data, by) == []
    assert codes(b"\xef\xbb\xbf" + data, by) == [("documents.encoding-differs", "o, line 1")]


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=500)
@given(data=st.binary(max_size=400) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_no_bytes_bring_it_down(data: bytes) -> None:
    for by in (PROFILE, FIXED, LINES):
        assert imported_rows(data, "x", by)


@pytest.mark.long
@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=20_000)
@given(data=st.binary(max_size=400) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_no_bytes_bring_it_down_at_length(data: bytes) -> None:
    for by in (PROFILE, FIXED, LINES):
        assert imported_rows(data, "x", by)


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_a_file_cut_or_changed_anywhere_is_the_same_or_refused(data: st.DataObject) -> None:
    whole, due = file(), samples(file())
    at = data.draw(st.integers(0, len(whole) - 1))
    changed = whole[:at] + data.draw(st.sampled_from([b"", b"x", b";", b"\n", b'"'])) + whole[at + 1 :]
    read = read_imported_samples(changed, "x", PROFILE)
    if read and not isinstance(read[0], Problem):
        assert read[0] == due  # in the line's own open text, or blanks


# The profile itself


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("bad-*.yaml")), ids=lambda path: path.stem)
def test_bad_samples(path: Path) -> None:
    read = read_document(path.read_bytes(), path.name)
    assert isinstance(read, tuple)
    assert all(each.code.startswith("documents.") for each in read)


def with_one(*words: Any, **more: Any) -> dict[str, Any]:  # noqa: ANN401  of ImportColumn
    """The good columns and one more."""
    return {"columns": (*PROFILE.columns, ImportColumn(*words, **more))}


def fixed_to(field: str, text: str) -> dict[str, Any]:
    """The good columns, one of them fixed and not in the file."""
    rest = (column for column in PROFILE.columns if column.field != field)
    return {"columns": (*rest, ImportColumn("", field, text))}


DATED: dict[str, Any] = {"form": "date", "date_form": "DD.MM.YYYY"}
FAULTS: dict[str, tuple[dict[str, Any], str]] = {
    "a separator of lines of JSON": ({"file": ImportFile("json_lines", separator=";")}, "import-file-word"),
    "no encoding": ({"file": replace(PROFILE.file, encoding="")}, "import-file-word"),
    "widths in UTF-8": ({"file": ImportFile("fixed_width", "utf-8", header_line=True)}, "import-file-word"),
    "own lines of JSON": ({"file": ImportFile("json_lines")}, "import-line"),
    "a field and ignored": (with_one("X", "grade", ignored=True), "import-column-use"),
    "fixed, with a title": (with_one("X", "grade", "a"), "import-column-use"),
    "fixed and empty, with a title": (with_one("X", "grade", ""), "import-column-use"),
    "fixed to a blank": (with_one("", "grade", " "), "import-value"),
    "fixed to nothing where something is needed": (fixed_to("condition", ""), "import-value"),
    "fixed to nothing where a name is needed": (fixed_to("customer", ""), "import-value"),
    "fixed to a day that is none": (fixed_to("sampled_on", "2026-02-30"), "import-value"),
    "fixed to a formula": (fixed_to("order", "=A1"), "import-value"),
    "a text for nothing that is no value": (
        with_one("X", "expires_on", when_missing="text", missing_text="unknown"), "import-value",
    ),
    "no title": (with_one("", "grade"), "import-title-missing"),
    "a width": (with_one("X", "grade", width=3), "import-width"),
    "a date without its form": (with_one("X", "expires_on", form="date"), "import-date-form"),
    "a text as a date": (with_one("X", "grade", **DATED), "import-date-form"),
    "two days in a form": (with_one("X", "expires_on", form="date", date_form="DD.DD.YYYY"), "import-date-form"),
    "letters no form knows": (with_one("X", "expires_on", form="date", date_form="YYYYMMDDX"), "import-date-form"),
    "a map of a date": (with_one("X", "expires_on", map={"a": "b"}, **DATED), "import-column-use"),
    "a text for nothing that is none": (with_one("X", "grade", when_missing="text"), "import-missing-text"),
    "a field twice": (with_one("X", "lot"), "import-field-twice"),
    "a title twice": (with_one("LOT", "grade"), "import-title-twice"),
    "nothing of the file": (
        {"columns": tuple(ImportColumn("", column.field, "x") for column in PROFILE.columns if column.field)},
        "import-column-use",
    ),
    "an open text beside a counter": ({"closing_lines": ("{any}{row_count}",)}, "import-line"),
    "a brace alone": ({"closing_lines": ("T{",)}, "import-line"),
}  # fmt: skip


@pytest.mark.parametrize("case", list(FAULTS))
def test_a_profile_that_cannot_work_is_refused(case: str) -> None:
    changes, code = FAULTS[case]
    assert f"documents.{code}" in {fault.code for fault in import_profile_faults(replace(PROFILE, **changes))}
    assert list(import_profile_faults(PROFILE)) == []


def test_the_starter_reads_its_file() -> None:
    by = profile(starter("orders/semicolon-orders.yaml"))
    text = (
        "ORDER;LOT;ARTICLE;SAMPLE;TEXT;AMOUNT;TAKEN;RECEIVED;PRIORITY\n"
        "20-1;A-9;4711;ZL/9;lozenges;30;01.03.2026;02.03.2026;1\nEND;1\n"
    )
    (row,) = samples(text.encode(), by)
    assert (row.lot, row.product, row.customer, row.received_on) == (
        "A-9",
        "Zinc lozenge 10 mg",
        "ardlea",
        "2026-03-02",
    )


def test_what_the_profile_and_what_the_register_finds_are_told_together() -> None:
    """A day that is none in one row, an empty lot and no amount in others: all of it the first time."""
    rows = (
        "L-1;ZL;1;a;31.02.2026;high;1;30;\n;ZL;2;a;02.03.2026;high;1;30;\nL-3;ZL;3;a;02.03.2026;high;1;;\n"
        "=L;ZL;4;a;02.03.2026;high;1;30;\nL-5;ZL;5;a;02.03.2026;high;1;30;\n"
    )
    assert codes(file(rows)) == [
        ("import.date-unreadable", "o, line 3, cell 5 (IN)"),
        ("import.missing", "o, line 4, cell 1 (LOT)"),
        ("documents.cell-not-text", "o, line 6, cell 1"),
        ("documents.cell-empty", "o, line 5, cell 8 (quantity_received)"),
    ]


def test_a_control_sign_is_for_the_sender_to_take_out() -> None:
    found = read_imported_samples(file("L-\x1b1;ZL;1;a;02.03.2026;high;1;30;\n"), "o", PROFILE)
    problem = found[0]
    assert len(found) == 1
    assert isinstance(problem, Problem)
    assert (problem.code, problem.remedy[:14]) == ("documents.control-sign", "Ask the sender")
