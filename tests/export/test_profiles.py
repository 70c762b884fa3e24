"""Profiles: the schema with its samples, the starters, and what ``check_profile`` finds beyond the schema."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any, Literal, get_args

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from benchseal.export.analytes import ANALYTES, analyte
from benchseal.export.profiles import check_profile, chosen, reaching
from benchseal.export.render import render
from benchseal.records import profile as words
from benchseal.records.encodings import Encoding
from benchseal.records.profile import Choose, Column, FileForm, Hl7, Hl7Code, Hl7Panel, Profile
from benchseal.records.released import DATE_FIELDS, DELIVERY_FIELDS, NUMBER_FIELDS, ROW_FIELDS, Delivery, ReleasedRow
from benchseal.records.run import DocumentRef
from benchseal.records.shape import read_record, record_bytes, record_of
from benchseal.records.specification import Quantity
from benchseal.shipped import schema, starter

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "fixtures" / "schemas" / "profile"
# The words that a delimited file does not have.
FIXED_WIDTHS = """
kind: profile
id: fixed-1
title: Fixed widths
file: {kind: fixed_width, encoding: us-ascii, line_end: crlf, decimal_mark: '.', header_line: false}
risky_text: keep
columns:
  - {title: ROW, field: row_no, width: 6, pad: zero}
  - {title: SAMPLE, field: client_sample_id, width: 20, align: left, pad: blank}
  - {title: C, field: change_kind, width: 1, map: {new: N, corrected: C, withdrawn: W}}
"""
MESSAGES = """
kind: profile
id: messages-1
title: Messages
file: {kind: hl7_v2}
risky_text: keep
hl7:
  sending_application: BENCH
  sending_facility: HARBOUR LAB
  receiving_application: WARD
  receiving_facility: CLINIC
  processing: T
  panel: {code: METALS, name: Metals, system: L}
  codes:
    - {code: SUM, name: Lead and cadmium, system: L, element: Pb Cd, quantity: content, unit: ug/g, product: Salt,
       fraction: total, basis: dry, expressed_as: PbO, sum_bound: upper_bound}
"""
DELIMITED = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
STARTERS = ("comma-utf8", "semicolon-1252")
SCHEMA: dict[str, Any] = json.loads(schema("profile"))
HL7: dict[str, Any] = SCHEMA["properties"]["hl7"]


def loaded(text: str) -> Any:  # noqa: ANN401  whatever YAML holds
    return json.loads(json.dumps(YAML(typ="safe", pure=True).load(text)))


def read(text: str) -> Profile:
    value = loaded(text)
    Draft202012Validator(SCHEMA).validate(value)
    return record_of(Profile, value)


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_the_good_sample_of_messages_uses_every_word_of_theirs_and_is_sound() -> None:
    profile = read(MESSAGES)
    assert check_profile(profile) == ()
    assert read_record(Profile, record_bytes(profile)) == profile
    value = loaded(MESSAGES)["hl7"]
    assert set(value) == set(HL7["properties"])
    assert set(value["codes"][0]) == set(HL7["properties"]["codes"]["items"]["properties"])


def test_the_good_sample_uses_every_word_and_is_sound() -> None:
    text = (SAMPLES / "good.yaml").read_text(encoding="utf-8")
    profile = read(text)
    assert check_profile(profile) == ()
    assert read_record(Profile, record_bytes(profile)) == profile
    value = loaded(text)
    others = {"hl7", "one_row_per"}  # in place of columns: tests/export/test_hl7.py; tests/export/test_together.py
    assert set(value) == set(SCHEMA["properties"]) - others
    fixed = loaded(FIXED_WIDTHS)
    assert check_profile(record_of(Profile, fixed)) == ()
    used = {key for column in (*value["columns"], *fixed["columns"]) for key in column}
    assert used == set(_column_schema()["properties"]) - {"of"}  # tests/export/test_together.py


# The sample's name, and what the schema must complain of: the keyword and where.
BAD = {
    "bad-other-kind": ("const", "kind"),
    "bad-id-with-blank": ("pattern", "id"),
    "bad-no-title": ("required", ""),
    "bad-encoding-unknown": ("enum", "file/encoding"),
    "bad-separator-of-two-characters": ("enum", "file/separator"),
    "bad-width-is-text": ("type", "columns/0/width"),
    "bad-kind-of-file-unknown": ("enum", "file/kind"),
    "bad-header-line-is-text": ("type", "file/header_line"),
    "bad-risky-text-unknown": ("enum", "risky_text"),
    "bad-field-unknown": ("enum", "columns/0/field"),
    "bad-field-and-fixed": ("oneOf", "columns/0"),
    "bad-column-without-content": ("oneOf", "columns/0"),
    "bad-word-unknown": ("additionalProperties", "columns/0"),
    "bad-length-is-text": ("type", "columns/0/max_length"),
    "bad-map-to-number": ("type", "columns/1/map/new"),
    "bad-no-columns": ("minItems", "columns"),
    "bad-flag-without-texts": ("minItems", "columns/0/holds"),
    "bad-of-is-a-name": ("pattern", "columns/0/of"),
    "bad-row-per-run": ("enum", "one_row_per"),
    "bad-line-of-two-lines": ("pattern", "closing_lines/0"),
    "bad-marker-is-a-path": ("pattern", "send_to/marker"),
    "bad-read-back-is-text": ("type", "send_to/read_back"),
    "bad-hl7-code-too-long": ("maxLength", "hl7/codes/0/code"),
    "bad-hl7-element-is-a-name": ("pattern", "hl7/codes/0/element"),
    "bad-hl7-no-codes": ("minItems", "hl7/codes"),
    "bad-hl7-no-panel": ("required", "hl7"),
    "bad-hl7-processing-unknown": ("enum", "hl7/processing"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_samples_are_refused_for_what_their_name_says(name: str) -> None:
    value = loaded((SAMPLES / f"{name}.yaml").read_text(encoding="utf-8"))
    errors = list(Draft202012Validator(SCHEMA).iter_errors(value))
    assert [(error.validator, "/".join(map(str, error.absolute_path))) for error in errors] == [BAD[name]]


def test_every_bad_sample_has_its_line_here() -> None:
    assert {path.stem for path in SAMPLES.glob("bad-*.yaml")} == set(BAD)


def _column_schema() -> dict[str, Any]:
    items: dict[str, Any] = SCHEMA["properties"]["columns"]["items"]
    return items


@pytest.mark.parametrize(
    ("kind", "part"),
    [
        (Profile, SCHEMA),
        (FileForm, SCHEMA["properties"]["file"]),
        (Column, SCHEMA["properties"]["columns"]["items"]),
        (Choose, SCHEMA["properties"]["choose"]),
        (Hl7, HL7),
        (Hl7Panel, HL7["properties"]["panel"]),
        (Hl7Code, HL7["properties"]["codes"]["items"]),
    ],
    ids=["profile", "file", "column", "choose", "hl7", "panel", "code"],
)
def test_schema_and_dataclass_have_the_same_words(kind: Any, part: dict[str, Any]) -> None:  # noqa: ANN401  a dataclass
    fields = dataclasses.fields(kind)
    needed = {
        field.name
        for field in fields
        if field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING
    }
    assert {field.name for field in fields} == set(part["properties"])
    assert needed == set(part.get("required", ()))


def test_schema_and_dataclass_have_the_same_choices() -> None:
    file, column = SCHEMA["properties"]["file"]["properties"], _column_schema()["properties"]
    assert tuple(column["form"]["enum"]) == get_args(words.Form)
    assert tuple(SCHEMA["properties"]["one_row_per"]["enum"]) == get_args(words.OneRowPer)
    assert tuple(column["field"]["enum"]) == tuple(sorted(ROW_FIELDS + DELIVERY_FIELDS))
    assert tuple(file["encoding"]["enum"]) == get_args(Encoding)
    assert tuple(file["kind"]["enum"]) == get_args(words.FileKind)
    for name in ("separator", "quote", "line_end", "decimal_mark"):
        assert (*file[name]["enum"], "") == _choices(FileForm, name)
    for name in ("align", "pad"):
        assert (*column[name]["enum"], "") == _choices(Column, name)
    for name in ("when_missing", "when_unmapped"):
        assert tuple(column[name]["enum"]) == _choices(Column, name)
    code = HL7["properties"]["codes"]["items"]["properties"]
    assert tuple(code["quantity"]["enum"]) == get_args(Quantity)
    assert tuple(code["basis"]["enum"]) == _choices(Hl7Code, "basis")
    assert (*code["sum_bound"]["enum"], "") == _choices(Hl7Code, "sum_bound")
    assert tuple(HL7["properties"]["processing"]["enum"]) == _choices(Hl7, "processing")
    assert tuple(SCHEMA["properties"]["risky_text"]["enum"]) == _choices(Profile, "risky_text")


def _choices(kind: type, name: str) -> tuple[str, ...]:
    return get_args(eval(kind.__annotations__[name], vars(words)))  # noqa: S307  our own annotation


@pytest.mark.parametrize("name", STARTERS)
def test_starters_are_sound_and_render(name: str) -> None:
    profile = read(starter(f"profiles/{name}.yaml"))
    assert profile.id == name
    assert check_profile(profile) == ()
    row = ReleasedRow(
        **{  # type: ignore[arg-type]
            field: "1" if field in NUMBER_FIELDS else "2026-03-04T10:00:00Z" if field in DATE_FIELDS else "x"
            for field in ROW_FIELDS
        }
        | {"change_kind": "new", "expressed_as": "", "sum_elements": ""}  # the starters show the element alone
    )
    delivery = Delivery("D-1", 1, "2026-03-04T14:02:11.000Z", DocumentRef(profile.id, 1, "0" * 64))
    assert isinstance(render([row], profile, delivery), bytes)


def test_field_kinds_are_of_known_fields() -> None:
    fields = set(ROW_FIELDS + DELIVERY_FIELDS)
    assert fields >= NUMBER_FIELDS
    assert fields >= DATE_FIELDS
    assert not NUMBER_FIELDS & DATE_FIELDS
    assert not set(ROW_FIELDS) & set(DELIVERY_FIELDS)


FILE = FileForm("us-ascii", ",", "needed", "crlf", ".", header_line=True)
CHANGE = Column("CHANGE", "change_kind")
COMMA = FileForm("utf-8", ";", "needed", "lf", ",", header_line=True)
ELEMENT = Column("ELEMENT", "element_symbol")
UNSOUND: dict[str, tuple[dict[str, Any], str]] = {
    "title twice": ({"columns": (CHANGE, Column("CHANGE", "change_reason"))}, "title-repeated"),
    "withdrawals would not show": ({"columns": (Column("N", "note"),)}, "change-not-shown"),
    "below limit would not show": (
        {"columns": (CHANGE, ELEMENT, Column("V", "value_number", unit="ug/g"))},
        "limit-not-shown",
    ),
    "no unit": (
        {"columns": (CHANGE, ELEMENT, Column("V", "value_number"), Column("Q", "qualifier"))},
        "unit-not-shown",
    ),
    "unit for a text": ({"columns": (CHANGE, Column("N", "note", unit="ug/g"))}, "unit-unfit"),
    "field unknown": ({"columns": (CHANGE, Column("N", "value"))}, "field-unknown"),
    "field and fixed": ({"columns": (CHANGE, Column("N", "note", fixed="x"))}, "field-and-fixed"),
    "text as number": ({"columns": (CHANGE, Column("N", "note", form="number"))}, "form-unfit"),
    "text as date": ({"columns": (CHANGE, Column("N", "note", form="date"))}, "form-unfit"),
    "fixed as number": ({"columns": (CHANGE, Column("N", fixed="1", form="number"))}, "form-unfit"),
    "number as text beside a decimal comma": (
        {"columns": (CHANGE, Column("F", "coverage_factor", form="text")), "file": COMMA},
        "form-unfit",
    ),
    "map on a number": ({"columns": (CHANGE, Column("R", "revision", map={"1": "one"}))}, "form-unfit"),
    "zone on a text": ({"columns": (CHANGE, Column("N", "note", zone="Europe/Berlin"))}, "form-unfit"),
    "missing text without its word": (
        {"columns": (CHANGE, Column("N", "note", missing_text="x"))},
        "missing-text-unfit",
    ),
    "word without missing text": (
        {"columns": (CHANGE, Column("N", "note", when_missing="text"))},
        "missing-text-unfit",
    ),
    "date form without a date": ({"columns": (CHANGE, Column("D", "received_at", date_form="day"))}, "date-form"),
    "zone unknown": ({"columns": (CHANGE, Column("D", "received_at", zone="Europe/Nowhere"))}, "zone-unknown"),
    "zone is a path": ({"columns": (CHANGE, Column("D", "received_at", zone="../etc"))}, "zone-unknown"),
    "time of day without offset": (
        {"columns": (CHANGE, Column("D", "measured_at", date_form="YYYY-MM-DD HH:mm", zone="Europe/Berlin"))},
        "offset-not-shown",
    ),
    "offset of another zone": (
        {
            "columns": (
                CHANGE,
                Column("D", "measured_at", date_form="HH:mm", zone="Europe/Berlin"),
                Column("Z", "measured_at", date_form="ZZ"),
            )
        },
        "offset-not-shown",
    ),
    "title not in the encoding": ({"columns": (CHANGE, Column("µ", "note"))}, "not-in-encoding"),
    "map to a formula": ({"columns": (CHANGE, Column("N", "note", map={"a": "=1"}))}, "risky-text"),
    "fixed formula": ({"columns": (CHANGE, Column("N", fixed="@x"))}, "risky-text"),
    "title over two lines": ({"columns": (CHANGE, Column("a\nb", "note"))}, "text-not-printable"),
    "title that needs quotes": (
        {"columns": (CHANGE, Column("a,b", "note")), "file": dataclasses.replace(FILE, quote="never")},
        "needs-quotes",
    ),
    "separator is the decimal mark": (
        {"file": dataclasses.replace(FILE, quote="never", decimal_mark=",")},
        "separator-is-decimal-mark",
    ),
    "byte order mark before ASCII": ({"file": dataclasses.replace(FILE, bom=True)}, "bom-unfit"),
    "counter unknown": ({"opening_lines": ("H;{today}",)}, "counter-unknown"),
    "sum of a text": ({"closing_lines": ("{sum_of:note}",)}, "counter-unknown"),
    "sum of a delivery field": ({"closing_lines": ("{sum_of:row_no}",)}, "counter-unknown"),
    "brace left open": ({"closing_lines": ("T;{row_count",)}, "brace"),
    "line not in the encoding": ({"closing_lines": ("Ende der Übergabe",)}, "not-in-encoding"),
    "line of two lines": ({"closing_lines": ("a\nb",)}, "line-broken"),
}


@pytest.mark.parametrize(("changes", "code"), UNSOUND.values(), ids=UNSOUND.keys())
def test_unsound_profiles(changes: dict[str, Any], code: str) -> None:
    base: dict[str, Any] = {"file": FILE, "risky_text": "refuse", "columns": (CHANGE,)}
    profile = Profile(kind="profile", id="partner", title="Partner", **(base | changes))
    found = check_profile(profile)
    assert [problem.code for problem in found] == [f"profile.{code}"]
    assert found[0].where.startswith("profile partner")
    assert found[0].what
    assert found[0].remedy


@pytest.mark.parametrize(("field", "mark"), [("coverage_factor", "."), ("revision", ","), ("value_text", ",")])
def test_text_without_a_point_or_beside_one_is_sound(field: str, mark: Literal[".", ","]) -> None:
    """A whole number has no point; ``value_text`` is told as a text."""
    column = Column("F", field, form="text", unit="ug/g" if field == "value_text" else "")
    file = dataclasses.replace(COMMA, decimal_mark=mark)
    partner = Profile("profile", "partner", "Partner", file, "refuse", (CHANGE, column))
    codes = {one.code for one in check_profile(partner)}
    assert "profile.form-unfit" not in codes


def test_the_base_of_those_cases_is_sound() -> None:
    profile = Profile("profile", "partner", "Partner", FILE, "refuse", (CHANGE,))
    assert check_profile(profile) == ()


def test_an_offset_column_beside_a_time_serves_it() -> None:
    zone = "Europe/Berlin"
    beside = (
        Column("T", "measured_at", date_form="HH:mm", zone=zone),
        Column("Z", "measured_at", date_form="ZZ", zone=zone),
    )
    assert check_profile(Profile("profile", "partner", "Partner", FILE, "refuse", (CHANGE, *beside))) == ()


def test_chosen_rows_are_those_of_the_customers_and_methods_named() -> None:
    rows = [
        ReleasedRow(str(number), "1", "withdrawn", customer_id=customer, method_id=method)
        for number, (customer, method) in enumerate([("a", "m"), ("b", "m"), ("a", "n"), ("", "")])
    ]

    def kept(choose: Choose) -> list[str]:
        profile = Profile("profile", "partner", "Partner", FILE, "refuse", (CHANGE,), choose=choose)
        return [row.result_id for row in chosen(rows, profile)]

    assert kept(Choose()) == ["0", "1", "2", "3"]
    assert kept(Choose(customers=("a",))) == ["0", "2"]
    assert kept(Choose(customers=("a", "b"), methods=("m",))) == ["0", "1"]
    assert kept(Choose(methods=("q",))) == []


def test_a_result_measured_by_another_method_now_is_withdrawn_from_who_held_it() -> None:
    profile = Profile("profile", "partner", "Partner", FILE, "refuse", (CHANGE,), choose=Choose(methods=("m",)))
    first = ReleasedRow("r", "1", "new", method_id="m", value_text="5.0", signature_state="signed")
    second = ReleasedRow("r", "2", "corrected", method_id="n", value_text="6.0", change_reason="the other method")
    assert reaching(first, None, profile) == first
    gone = reaching(second, first, profile)
    assert gone is not None
    assert (gone.revision, gone.replaces_revision, gone.change_kind) == ("2", "1", "withdrawn")
    assert (gone.change_reason, gone.value_text, gone.method_id) == ("the other method", "", "m")
    third = ReleasedRow("r", "3", "withdrawn", method_id="n")
    assert reaching(third, gone, profile) is None  # once is enough
    assert reaching(second, None, profile) is None
    back = ReleasedRow("r", "3", "corrected", method_id="m")
    assert reaching(back, gone, profile) == back


@pytest.mark.parametrize("symbol", ANALYTES)
def test_cas_check_digits(symbol: str) -> None:
    """CAS: the last figure is the sum of the others, each times its place from the right, modulo 10."""
    name, number = analyte(symbol)
    figures, check = number.replace("-", "")[:-1], int(number[-1])
    assert sum(place * int(figure) for place, figure in enumerate(reversed(figures), start=1)) % 10 == check
    assert name.isalpha()
    assert name.islower()


def test_cas_numbers_differ_and_an_unlisted_symbol_has_none() -> None:
    assert len({number for _, number in ANALYTES.values()}) == len(ANALYTES)
    assert analyte("Xx") == ("", "")


def test_the_manual_explains_every_field_word_and_counter() -> None:
    manual = (ROOT / "docs" / "manual" / "exports.md").read_text(encoding="utf-8")
    names = {*ROW_FIELDS, *DELIVERY_FIELDS, *SCHEMA["properties"], *_column_schema()["properties"]}
    names |= set(SCHEMA["properties"]["file"]["properties"]) | set(SCHEMA["properties"]["choose"]["properties"])
    assert sorted(name for name in names if f"`{name}`" not in manual) == []


@pytest.mark.parametrize(
    ("field", "form"),
    [
        pytest.param("measured_at", "DD.MM.YYYY HH:MM ZZ", id="month for the minute"),
        pytest.param("measured_at", "HH:MM ZZ", id="month for the minute, no day"),
        pytest.param("measured_at", "dd.MM.yyyy", id="small letters"),
        pytest.param("measured_at", "YYYYYMMDD", id="a letter too many"),
        pytest.param("measured_at", "hh:MM ZZ", id="hour in small letters"),
        pytest.param("measured_at", "DD-MMM-YYYY", id="name of a month"),
        pytest.param("measured_at", "DD.MM.YY YYYY", id="the year twice"),
        pytest.param("measured_at", "DD.mm.YYYY ZZ", id="minute for the month"),
        pytest.param("measured_at", "HH.fff ZZ", id="thousandths of what"),
        pytest.param("measured_at", "THH:mmZZ", id="a T before nothing"),
        pytest.param("measured_at", "--", id="no part"),
        pytest.param("sampled_at", "DD.MM.YYYY HH:mm ZZ", id="time of a day only"),
        pytest.param("received_at", "YYYY-MM-DD ZZ", id="offset of a day only"),
    ],
)
def test_a_date_form_with_a_slip_is_refused(field: str, form: str) -> None:
    columns = (Column("C", "change_kind"), Column("D", field, date_form=form))
    (problem,) = check_profile(dataclasses.replace(read(FIXED_WIDTHS), file=DELIMITED, columns=columns))
    assert problem.code == "profile.date-form"
    assert form in problem.what


@pytest.mark.parametrize(
    ("field", "form"),
    [
        ("measured_at", "YYYY-MM-DDTHH:mm:ss.fffZZ"), ("measured_at", "YYYYMMDDHHmmss ZZ"), ("measured_at", "HH ZZ"),
        ("sampled_at", "DD/MM/YY"), ("sampled_at", "YYYY"), ("released_at", "MM/DD/YYYY"),
    ],
)  # fmt: skip
def test_a_date_form_without_one_is_sound(field: str, form: str) -> None:
    columns = (Column("C", "change_kind"), Column("D", field, date_form=form))
    assert check_profile(dataclasses.replace(read(FIXED_WIDTHS), file=DELIMITED, columns=columns)) == ()
