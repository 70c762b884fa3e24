"""Several results in one row: which stand where, what is said of the row as a whole, and what is refused; flags."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pyarrow.parquet
import pytest
from tests.export.test_file_kinds import DELIMITED, DELIVERY, FIXED, LINES, PARQUET, row

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.export.arranged import Arranged, arranged
from benchseal.export.delivery import LedgerSpan, Material, bundle
from benchseal.export.descriptors import csvw, data_package
from benchseal.export.edge_cases import tried
from benchseal.export.profiles import check_profile
from benchseal.export.render import preview, render
from benchseal.export.rows import withdrawn_rows
from benchseal.records.canonical import parse_canonical
from benchseal.records.profile import Column, FileForm, Hl7, Hl7Panel, Profile
from benchseal.records.released import ROW_FIELDS, ReleasedRow, Together, sealed

OF_THE_SAMPLE = {"customer_id", "lab_sample_id", "client_sample_id", "client_order_id", "product"}
PB = row(value_text="0.0670", value_number="0.0670", verdict="pass", certificate_no="C-1", client_sample_id="A/1")
CD = row(
    result_id="c" * 32, element_symbol="Cd", qualifier="<", value_text="<0.050", value_number="0.050",
    reported_kind="below_limit", certificate_no="C-1", client_sample_id="A/1", verdict="fail",
)  # fmt: skip
SUM = row(
    result_id="5" * 32, element_symbol="", sum_elements="Pb Cd", value_text="0.117", value_number="0.117",
    certificate_no="C-1", client_sample_id="A/1", verdict="fail",
)  # fmt: skip
COLUMNS = (
    Column("NO", "row_no"), Column("SAMPLE", "lab_sample_id"), Column("CHANGE", "change_kind"),
    Column("WHY", "change_reason"), Column("UNIT", "unit_ucum"),
    Column("PB", "value_text", of="Pb"), Column("PB_N", "value_number", of="Pb"), Column("PB_ID", "result_id", of="Pb"),
    Column("CD", "value_text", of="Cd"), Column("CD_N", "value_number", of="Cd"), Column("CD_Q", "qualifier", of="Cd"),
)  # fmt: skip


def profile(*columns: Column, file: FileForm = DELIMITED, per: str = "sample", **words: Any) -> Profile:  # noqa: ANN401  any field
    base: dict[str, Any] = {"risky_text": "keep", "one_row_per": per}
    return Profile(
        kind="profile", id="partner", title="Partner", file=file, columns=columns or COLUMNS, **(base | words)
    )


def table(rows: list[Together], wanted: Profile) -> list[dict[str, str]]:
    assert check_profile(wanted) == ()
    data = render(rows, wanted, DELIVERY)
    assert isinstance(data, bytes), data
    return list(csv.DictReader(io.StringIO(data.decode())))


def codes(rows: list[ReleasedRow | Together], wanted: Profile) -> list[str]:
    found = render(rows, wanted, DELIVERY)
    assert isinstance(found, tuple), found
    return [problem.code for problem in found]


def test_each_result_stands_in_the_columns_of_its_element() -> None:
    (one, two) = table([Together((PB, CD)), Together((replace(CD, lab_sample_id="S-2"),))], profile())
    assert one == {
        "NO": "1", "SAMPLE": "S-00001", "CHANGE": "new", "WHY": "", "UNIT": "ug/g", "PB": "0.0670", "PB_N": "0.0670",
        "PB_ID": "0" * 32, "CD": "<0.050", "CD_N": "0.050", "CD_Q": "<",
    }  # fmt: skip
    assert {name: two[name] for name in ("NO", "SAMPLE", "PB", "PB_ID", "CD")} == {
        "NO": "2", "SAMPLE": "S-2", "PB": "", "PB_ID": "", "CD": "<0.050",
    }  # fmt: skip


def test_every_kind_of_file_reads_back_the_same() -> None:
    rows = [Together((PB, CD))]
    lines = render(rows, profile(file=LINES), DELIVERY)
    assert isinstance(lines, bytes)
    assert json.loads(lines, parse_float=str)["PB_N"] == "0.0670"
    parquet = render(rows, profile(file=PARQUET), DELIVERY)
    assert isinstance(parquet, bytes)
    read = pyarrow.parquet.read_table(io.BytesIO(parquet))
    assert read.column("CD").to_pylist() == ["<0.050"]
    assert read.schema.field("CD").metadata == {b"field": b"value_text", b"of": b"Cd"}
    assert read.schema.field("SAMPLE").metadata == {b"field": b"lab_sample_id"}
    wide = profile(*(replace(column, width=40) for column in COLUMNS), file=FIXED)
    fixed = render(rows, wide, DELIVERY)
    assert isinstance(fixed, bytes)
    assert fixed.decode()[8 * 40 : 9 * 40].strip() == "<0.050"


def test_a_sum_has_columns_of_its_elements_in_any_order() -> None:
    more = (Column("SUM", "value_text", of="Cd Pb"), Column("SUM_OF", "sum_elements", of="Cd Pb"))
    (one,) = table([Together((PB, CD, SUM))], profile(*COLUMNS, *more))
    assert (one["SUM"], one["SUM_OF"]) == ("0.117", "Pb Cd")


NICKEL = tuple(Column(f"NI_{name.upper()}", name, of="Ni") for name in ROW_FIELDS if name not in OF_THE_SAMPLE)
FLAGS = (
    Column("NI_W", "change_kind", of="Ni", form="flag", holds=("withdrawn",), yes="Y", no="N"),
    Column("NI_L", "reported_kind", of="Ni", form="flag", holds=("below_limit",), yes="Y", no="N"),
    Column("NI_F", "verdict", of="Ni", form="flag", holds=("fail",), yes="Y", no="N"),
    Column("NI_C", "change_kind", of="Ni", map={"new": "N", "corrected": "C", "withdrawn": "W"}),
)


@pytest.mark.parametrize("per", ["sample", "certificate"])
@pytest.mark.parametrize("gone", [False, True])
def test_of_a_result_that_does_not_exist_nothing_is_said(per: str, *, gone: bool) -> None:
    """Neither a change nor the no of a flag: every field of it, and ``when_missing`` acts."""
    results = withdrawn_rows([PB, CD], "of another lot") if gone else (PB, CD)
    (one,) = table([Together(results)], profile(*COLUMNS, *NICKEL, *FLAGS, per=per))
    assert {name: text for name, text in one.items() if name.startswith("NI_") and text} == {}
    asked = tuple(replace(column, when_missing="text", missing_text="n/a") for column in FLAGS)
    (one,) = table([Together(results)], profile(*COLUMNS, *NICKEL, *asked, per=per))
    assert {one[column.title] for column in asked} == {"n/a"}
    refused = replace(FLAGS[0], when_missing="refuse")
    assert codes([Together(results)], profile(*COLUMNS, *NICKEL, refused, per=per)) == ["export.missing"]


KINDS = {
    "new": (Together((PB, CD)), "new"),
    "new to a sample that was sent": (Together((PB, CD), held=True), "corrected"),
    "one corrected": (Together((PB, replace(CD, change_kind="corrected", change_reason="typed wrongly"))), "corrected"),
    "one withdrawn": (Together((PB, *withdrawn_rows([CD], "of another lot"))), "corrected"),
    "all withdrawn": (Together(withdrawn_rows([PB, CD], "of another lot")), "withdrawn"),
}


@pytest.mark.parametrize("case", list(KINDS))
def test_the_change_of_a_row_is_that_of_its_results(case: str) -> None:
    together, due = KINDS[case]
    (one,) = table([together], profile())
    assert one["CHANGE"] == due
    assert one["WHY"] == "; ".join(dict.fromkeys(row.change_reason for row in together.results if row.change_reason))
    assert (one["CD"] == "") == (together.results[1].change_kind == "withdrawn")


def test_what_was_withdrawn_says_nothing_of_the_row() -> None:
    gone = withdrawn_rows([replace(CD, certificate_no="C-0", unit_ucum="mg/kg")], "gone")
    (one,) = table([Together((PB, *gone))], profile(*COLUMNS, Column("CERT", "certificate_no")))
    assert (one["CERT"], one["UNIT"]) == ("C-1", "ug/g")


def test_what_differs_between_results_is_refused_for_the_row_and_not_for_the_element() -> None:
    other = sealed(replace(CD, method_id="cadmium-furnace"))
    whole = profile(*COLUMNS, Column("METHOD", "method_id"))
    assert codes([Together((PB, other))], whole) == ["export.differs-in-row"]
    (one,) = table([Together((PB, other))], profile(*COLUMNS, Column("M", "method_id", of="Cd")))
    assert one["M"] == "cadmium-furnace"
    (cells,) = preview([Together((PB, other))], whole)
    assert [cell.title for cell in cells if cell.problem is not None] == ["METHOD"]


def test_a_result_without_a_column_or_not_alone_in_one_is_refused() -> None:
    zinc = row(element_symbol="Zn", result_id="d" * 32)
    again = replace(PB, result_id="e" * 32)
    rows: list[ReleasedRow | Together] = [Together((PB, zinc)), Together((PB, again)), Together((PB, SUM))]
    assert codes(rows, profile()) == [
        "export.result-without-column", "export.result-not-alone", "export.result-without-column",
    ]  # fmt: skip
    assert [cells[0].problem is not None for cells in preview(rows, profile())] == [True] * 3
    found = render(rows, profile(), DELIVERY)
    assert isinstance(found, tuple)
    assert "Zn" in found[0].what
    assert found[1].where.startswith("row 2 (S-00001 Pb")


def test_a_unit_is_held_to_the_column_of_its_element() -> None:
    columns = tuple(replace(one, unit="ug/g") if one.title == "CD_N" else one for one in COLUMNS)
    wanted = profile(*columns)
    good = table([Together((PB, CD)), Together((PB,))], wanted)
    assert [one["CD_N"] for one in good] == ["0.050", ""]
    mixed = Together((sealed(replace(PB, unit_ucum="mg/kg")), sealed(replace(CD, unit_ucum="mg/kg"))))
    assert codes([mixed], wanted) == ["export.unit-differs"]


def test_a_basis_shown_of_one_element_is_not_shown_of_another() -> None:
    dry = sealed(replace(CD, basis="dry"))
    of_lead = profile(*COLUMNS, Column("B", "basis", of="Pb"))
    assert set(codes([Together((PB, dry))], of_lead)) == {"export.basis-not-shown"}
    (one,) = table([Together((PB, dry))], profile(*COLUMNS, Column("B", "basis", of="Cd")))
    assert one["B"] == "dry"


def test_sums_are_over_the_columns_that_show_the_field() -> None:
    wanted = profile(closing_lines=("T,{row_count},{sum_of:value_number}",))
    data = render([Together((PB, CD)), Together((PB,))], wanted, DELIVERY)
    assert isinstance(data, bytes)
    assert data.decode().splitlines()[-1] == "T,2,0.1840"


def test_the_manifest_counts_rows_as_they_stand() -> None:
    rows = [Together((PB, CD)), Together(withdrawn_rows([PB, CD], "gone")), Together((PB,), held=True)]
    made = bundle(rows, profile(), DELIVERY, Material(LedgerSpan("l", 1, 2, 3, "a" * 64), "benchseal 0.1.0"))
    assert not isinstance(made, tuple)
    (name,) = [name for name in made.files if name.endswith("manifest.json")]
    manifest: Any = parse_canonical(made.files[name])
    assert manifest["counts"] == {"new": 1, "corrected": 1, "withdrawn": 1}
    assert manifest["files"][0]["rows"] == 3


def test_descriptions_have_no_key_and_say_of_which_element() -> None:
    wanted = profile(*COLUMNS, Column("REV", "revision", of="Pb"))
    described: Any = csvw(wanted, "x.csv")
    assert "primaryKey" not in described["tableSchema"]
    names = [column["name"] for column in described["tableSchema"]["columns"]]
    assert len(set(names)) == len(names)
    package: Any = data_package(wanted, "x.csv", b"")
    fields = {one["name"]: one for one in package["resources"][0]["schema"]["fields"]}
    assert fields["CD"]["description"] == "canonical field value_text of Cd"
    assert "primaryKey" not in package["resources"][0]["schema"]


def test_rows_of_one_result_are_as_they_were() -> None:
    placed = arranged([PB, CD], profile(Column("C", "change_kind"), per="result"))
    assert isinstance(placed, Arranged)
    assert list(placed.rows) == [PB, CD]


HL7 = Hl7("A", "B", "C", "D", "T", Hl7Panel("M", "Metals", "L"), ())
UNSOUND: dict[str, tuple[Profile, str]] = {
    "an element in rows of one result": (profile(per="result"), "of-unfit"),
    "no element at all": (profile(*COLUMNS[:5]), "of-missing"),
    "a value of the whole row": (profile(*COLUMNS, Column("V", "value_text")), "of-missing"),
    "a sample of one element": (profile(*COLUMNS, Column("S", "lab_sample_id", of="Pb")), "of-unfit"),
    "a fixed text of one element": (profile(*COLUMNS, Column("S", fixed="x", of="Pb")), "of-unfit"),
    "the change of one element alone": (profile(*COLUMNS[:2], Column("C", "change_kind", of="Pb")), "change-not-shown"),
    "a value without its sign, beside one that has it": (
        profile(*COLUMNS[:5], Column("P", "value_number", of="Pb"), Column("Q", "qualifier", of="Cd")),
        "limit-not-shown",
    ),
    "a unit of another element": (
        profile(*COLUMNS[:4], Column("P", "value_text", of="Pb"), Column("U", "unit_ucum", of="Cd")),
        "unit-not-shown",
    ),
    "a sum of what no column shows": (profile(closing_lines=("{sum_of:spec_high}",)), "counter-unfit"),
    "messages": (profile(file=FileForm(kind="hl7_v2"), hl7=HL7), "rows-unfit"),
    "a flag without its texts": (profile(*COLUMNS, Column("F", "verdict", of="Pb", form="flag")), "flag-unfit"),
    "texts of a flag that is none": (profile(*COLUMNS, Column("F", "verdict", of="Pb", yes="1")), "flag-unfit"),
    "a flag of two equal texts": (
        profile(*COLUMNS, Column("F", "verdict", of="Pb", form="flag", holds=("fail",), yes="1", no="1")),
        "flag-unfit",
    ),
    "a flag of a number": (
        profile(*COLUMNS, Column("F", "value_number", of="Pb", form="flag", holds=("0",), yes="1", no="0")),
        "form-unfit",
    ),
    "a flag with a map": (
        profile(*COLUMNS, Column("F", "verdict", of="Pb", form="flag", holds=("0",), yes="1", no="0", map={"a": "b"})),
        "form-unfit",
    ),
    "a flag that begins like a formula": (
        profile(
            *COLUMNS,
            Column("F", "verdict", of="Pb", form="flag", holds=("fail",), yes="=1", no="0"),
            risky_text="refuse",
        ),
        "risky-text",
    ),
}


@pytest.mark.parametrize("case", list(UNSOUND))
def test_a_profile_that_would_mislead_is_refused(case: str) -> None:
    wanted, code = UNSOUND[case]
    assert f"profile.{code}" in {problem.code for problem in check_profile(wanted)}


# ------------------------------------------------------------------ flags

FLAG = Column("OUT", "verdict", form="flag", holds=("fail", "conditional_fail"), yes="J", no="N")


@pytest.mark.parametrize(
    ("verdict", "due"), [("fail", "J"), ("conditional_fail", "J"), ("pass", "N"), ("inconclusive", "N"), ("", "")]
)
@pytest.mark.parametrize("file", [DELIMITED, LINES, PARQUET, FIXED])
def test_a_flag_is_one_of_two_texts_or_missing(verdict: str, due: str, file: FileForm) -> None:
    columns = [Column("C", "change_kind"), FLAG]
    wanted = profile(*(replace(one, width=4 if file is FIXED else 0) for one in columns), file=file, per="result")
    wanted = replace(wanted, columns=tuple(replace(one, width=12 if file is FIXED else 0) for one in columns))
    assert check_profile(wanted) == ()
    data = render([row(verdict=verdict)], wanted, DELIVERY)
    assert isinstance(data, bytes)
    match file.kind:
        case "json_lines":
            found = json.loads(data)["OUT"] or ""
        case "parquet":
            found = pyarrow.parquet.read_table(io.BytesIO(data)).column("OUT").to_pylist()[0] or ""
        case "fixed_width":
            found = data.decode()[12:].strip()
        case _:
            found = next(csv.DictReader(io.StringIO(data.decode())))["OUT"]
    assert found == due


def test_a_flag_looks_at_each_code_of_several() -> None:
    flag = Column("LOOK", "flags", form="flag", holds=("comment_required",), yes="1", no="0")
    wanted = profile(Column("C", "change_kind"), flag, per="result")
    rows = [row(flags="dilutions_differ comment_required"), row(flags="dilutions_differ"), row()]
    data = render(rows, wanted, DELIVERY)
    assert isinstance(data, bytes)
    assert [one["LOOK"] for one in csv.DictReader(io.StringIO(data.decode()))] == ["1", "0", ""]


# ------------------------------------------------------------------ what a profile makes of rare rows


def test_rare_rows_are_tried_together_too() -> None:
    found = {one.case: [problem.code for problem in one.problems] for one in tried(profile())}
    assert found["an ordinary result"] == []
    assert found["two results in one row"] == []
    assert found["one result withdrawn, one left"] == []
    assert found["a result no column is of"] == ["export.result-without-column"]
    assert found["two results of one element"] == ["export.result-not-alone"]
    assert found["results by two methods"] == []
    with_method = profile(*COLUMNS, Column("M", "method_id"))
    assert {one.case for one in tried(with_method) if one.problems} >= {"results by two methods"}


@pytest.mark.parametrize("name", ["samples-wide"])
def test_the_starter_is_sound(name: str) -> None:
    path = Path(__file__).parents[2] / "pipeline" / "benchseal" / "starters" / "profiles" / f"{name}.yaml"
    read = read_document(path.read_bytes(), path.name)
    assert isinstance(read, ControlledDocument)
    assert isinstance(read.value, Profile)
    assert check_profile(read.value) == ()
    assert table([Together((PB, CD))], replace(read.value, file=DELIMITED, opening_lines=(), closing_lines=()))
