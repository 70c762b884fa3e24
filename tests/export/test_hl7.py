"""HL7 v2.5.1 messages, read back by ``hl7apy`` (its own tables of the standard) and compared with the released rows."""

from __future__ import annotations

import dataclasses
import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any, get_args

import pytest
from hl7apy.consts import VALIDATION_LEVEL
from hl7apy.exceptions import HL7apyException
from hl7apy.factories import datatype_factory
from hl7apy.parser import parse_message
from hl7apy.v2_5_1 import ST
from hl7apy.v2_5_1.tables import TABLES
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from benchseal.documents.reading import read_document
from benchseal.export.edge_cases import edge_cases, tried
from benchseal.export.hl7_text import Segment, stamp, written
from benchseal.export.profiles import check_profile
from benchseal.export.render import preview, render, suffix_of
from benchseal.records.profile import Column, FileForm, Hl7, Hl7Code, Hl7Panel, Profile
from benchseal.records.released import DELIVERY_FIELDS, Delivery, ReleasedRow, sealed
from benchseal.records.run import DocumentRef
from benchseal.records.shape import plain_of, read_record, record_bytes, record_of
from benchseal.records.specification import Quantity
from benchseal.shipped import schema, starter

if TYPE_CHECKING:
    from collections.abc import Iterable

DELIVERY = Delivery("D-00007", 7, "2026-03-04T14:02:11.000Z", DocumentRef("clinic", 3, "ab" * 32))
LEAD = Hl7Code("PB-C", "Lead", "L", "Pb", "content", "ug/g")
CODES = (
    LEAD,
    Hl7Code("HG-C", "Mercury", "L", "Hg", "content", "ng/L"),
    Hl7Code("PB-D", "Lead, dry", "L", "Pb", "content", "ug/g", basis="dry"),
    Hl7Code("PB-S", "Lead as CaCO3", "L", "Pb", "content", "ug/g", expressed_as="CaCO3"),
    Hl7Code("SUM", "Lead and cadmium", "L", "Cd Pb", "content", "ug/g", sum_bound="upper_bound"),
)
WORDS = Hl7("BENCH", "HARBOUR LAB", "WARD", "CLINIC", "P", Hl7Panel("METALS", "Metals", "L"), CODES)
CASES = edge_cases()
MARKS = {"FIELD": "|", "COMPONENT": "^", "SUBCOMPONENT": "&", "REPETITION": "~", "ESCAPE": "\\"}
ORDINARY = CASES["an ordinary result"]
CODED = {
    ("MSH", 11): "HL70103", ("MSH", 18): "HL70211", ("ORC", 1): "HL70119", ("OBR", 25): "HL70123",
    ("OBX", 2): "HL70125", ("OBX", 8): "HL70078", ("OBX", 11): "HL70085", ("NTE", 2): "HL70105",
}  # fmt: skip
SIGNS = {"F": "|", "S": "^", "T": "&", "R": "~", "E": "\\"}  # HL7 v2.5.1, 2.7.1, from memory


def profile(**changes: Any) -> Profile:  # noqa: ANN401  any field of Profile
    base: dict[str, Any] = {"file": FileForm(kind="hl7_v2"), "risky_text": "keep", "hl7": WORDS}
    return Profile(kind="profile", id="clinic", title="Clinic", **(base | changes))


def with_words(**changes: Any) -> Profile:  # noqa: ANN401  any field of Hl7
    return profile(hl7=replace(WORDS, **changes))


def row(of: ReleasedRow = ORDINARY, /, **fields: str) -> ReleasedRow:
    return sealed(replace(of, **fields))  # type: ignore[arg-type]


def lines(rows: Iterable[ReleasedRow], wanted: Profile | None = None) -> list[list[str]]:
    """Fields of each segment; of those that begin a message or batch, so that [n] is field n too."""
    data = render(list(rows), wanted or profile(), DELIVERY)
    assert isinstance(data, bytes), data
    text = data.decode()
    assert text.endswith("\r")
    assert "\n" not in text
    split = [line.split("|") for line in text.removesuffix("\r").split("\r")]
    return [[one[0], "|", *one[1:]] if one[0] in {"MSH", "BHS", "FHS"} else one for one in split]


def codes(rows: Iterable[ReleasedRow], wanted: Profile | None = None) -> list[str]:
    made = render(list(rows), wanted or profile(), DELIVERY)
    assert isinstance(made, tuple), made
    return [problem.code for problem in made]


def read_back(text: str) -> str:
    """The text a field stands for."""
    if text == '""':
        return "null"

    def sign(found: re.Match[str]) -> str:
        return SIGNS.get(found[1]) or bytes.fromhex(found[1][1:]).decode()

    return re.sub(r"\\([FSTRE]|X[0-9A-F]{2})\\", sign, text)


def messages(rows: Iterable[ReleasedRow]) -> list[Any]:
    """Every message of the file as hl7apy reads it, held against its tables of version 2.5.1."""
    found: list[list[str]] = []
    data = render(list(rows), profile(), DELIVERY)
    assert isinstance(data, bytes), data
    for line in data.decode().split("\r")[2:-3]:
        if line.startswith("MSH"):
            found.append([])
        found[-1].append(line)
    read = [parse_message("\r".join(one) + "\r", validation_level=VALIDATION_LEVEL.STRICT) for one in found]
    for one in read:
        hold_to_the_standard(one)
    return read


def hold_to_the_standard(message: Any) -> None:  # noqa: ANN401  hl7apy has no types
    """As hl7apy has version 2.5.1: structure, needed fields, every code one of its table, every number a number."""
    assert message.validate()
    order = message.oru_r01_patient_result.oru_r01_order_observation
    segments = [message.msh, order.orc, order.obr, *(one.obx for one in order.oru_r01_observation)]
    segments += [note for one in order.oru_r01_observation for note in one.nte]
    seen = set()
    for segment in segments:
        for (name, number), table in CODED.items():
            if segment.name == name and (text := getattr(segment, f"{name}_{number}".lower()).to_er7()):
                assert text in TABLES[table][1], (name, number, text)
                seen.add((name, number))
    assert {("MSH", 11), ("ORC", 1), ("OBR", 25), ("OBX", 2), ("OBX", 11)} <= seen
    for kind, text in ((one.obx.obx_2.value, one.obx.obx_5.to_er7()) for one in order.oru_r01_observation):
        if text and kind in {"NM", "SN"}:  # parsing alone does not look into OBX-5
            datatype_factory("NM", text.removeprefix("<^"), "2.5.1", VALIDATION_LEVEL.STRICT)


def observations(message: Any) -> list[Any]:  # noqa: ANN401  hl7apy has no types
    return list(message.oru_r01_patient_result.oru_r01_order_observation.oru_r01_observation)


def beside(one: ReleasedRow) -> dict[str, list[str]]:
    """OBX under local codes, by the field they are of."""
    return {line[3].split("^")[0]: line for line in lines([one]) if line[0] == "OBX" and line[1] != "1"}


def first_obx(one: ReleasedRow) -> list[str]:
    return next(line for line in lines([one]) if line[0] == "OBX")


# The file


def test_a_profile_of_messages_is_sound_and_keeps_through_its_bytes() -> None:
    assert check_profile(profile()) == ()
    assert read_record(Profile, record_bytes(profile())) == profile()
    assert suffix_of(profile()) == "hl7"
    assert "columns" not in plain_of(profile())


def test_a_profile_of_columns_has_the_bytes_it_had() -> None:
    file = FileForm("utf-8", ",", "needed", "lf", ".", header_line=True)
    old = Profile("profile", "old", "Old", file, "keep", (Column("C", "change_kind"),))
    assert {"hl7"}.isdisjoint(plain_of(old))
    assert list(plain_of(old)["columns"]) == [plain_of(old.columns[0])]  # type: ignore[arg-type]


def test_the_batch_counts_its_messages_and_names_itself() -> None:
    rows = [
        row(), row(result_id="f" * 32), row(lab_sample_id="S-2"), row(lab_sample_id="S-2", certificate_no="C-2")
    ]  # fmt: skip
    found = lines(rows)
    assert [line[0] for line in found if line[0] in {"FHS", "BHS", "BTS", "FTS"}] == ["FHS", "BHS", "BTS", "FTS"]
    assert (found[-2][1], found[-1][1]) == ("3", "1")
    for line in found[:2]:
        assert line[3:8] == ["BENCH", "HARBOUR LAB", "WARD", "CLINIC", "20260304140211.000+0000"]
        assert line[11] == "D-00007"
    headers = [line for line in found if line[0] == "MSH"]
    assert [line[10] for line in headers] == ["D-00007-1", "D-00007-3", "D-00007-4"]
    assert {tuple(line[number] for number in (2, 9, 11, 12, 18)) for line in headers} == {
        ("^~\\&", "ORU^R01^ORU_R01", "P", "2.5.1", "UNICODE UTF-8")
    }
    assert render(rows, profile(), DELIVERY) == render(rows, profile(), DELIVERY)


def test_no_rows_are_a_batch_of_no_message() -> None:
    assert [line[0] for line in lines([])] == ["FHS", "BHS", "BTS", "FTS"]
    assert lines([])[-2][1] == "0"


def test_training_is_said_and_no_patient_is() -> None:
    found = lines([row()], with_words(processing="T"))
    assert next(line for line in found if line[0] == "MSH")[11] == "T"
    assert {line[0] for line in found} == {"FHS", "BHS", "MSH", "ORC", "OBR", "OBX", "SPM", "BTS", "FTS"}


def test_results_of_one_sample_stand_in_one_message_and_two_revisions_never_do() -> None:
    other = row(result_id="f" * 32)
    later = [row(one, revision="2", change_kind="corrected") for one in (ORDINARY, other)]
    one, two = messages([ORDINARY, other, *later])
    assert {obx.obx.obx_4.value for obx in observations(one)} == {"0123456789abcdef0123", "f" * 20}
    assert [line[1] for line in lines([ORDINARY, other]) if line[0] == "OBX"] == [str(n) for n in range(1, 23)]
    assert len(observations(one)) == 22
    assert [
        obx.obx.obx_5.value for message in (one, two) for obx in observations(message)
        if obx.obx.obx_3.ce_1.value == "row_no"
    ] == ["1", "2", "3", "4"]  # fmt: skip
    assert {obx.obx.obx_4.value for obx in observations(two)} == {"0123456789abcdef0123", "f" * 20}


@pytest.mark.parametrize(("due", "wrong"), [("^Zinc lozenges", ""), ("|NM|", "|QQ|"), ("|0.067|", "|0,067|")])
def test_the_reading_refuses_a_message_with_a_fault(due: str, wrong: str) -> None:
    """So that what it and its tables take says something: a needed field is missing, a type or a number is none."""
    data = render([row()], profile(), DELIVERY)
    assert isinstance(data, bytes)
    text = "\r".join(data.decode().split("\r")[2:-3]) + "\r"
    assert due in text
    hold_to_the_standard(parse_message(text, validation_level=VALIDATION_LEVEL.STRICT))
    with pytest.raises((HL7apyException, ValueError, AssertionError)):
        hold_to_the_standard(parse_message(text.replace(due, wrong), validation_level=VALIDATION_LEVEL.STRICT))


# What a result becomes


@pytest.mark.parametrize("name", sorted(set(CASES) - {"a value of record with many figures"}))
def test_hl7apy_reads_each_case_and_gives_the_row_back(name: str) -> None:
    one = CASES[name]
    (message,) = messages([one])
    value, *rest = observations(message)
    is_gone = one.change_kind == "withdrawn"
    due = "" if is_gone else ("<^" if one.qualifier else "") + one.value_number
    assert value.obx.obx_5.to_er7() == due
    assert value.obx.obx_2.value == ("SN" if one.qualifier else "NM")
    if due:
        assert value.obx.obx_6.ce_1.value == one.unit_ucum
        assert value.obx.obx_6.ce_3.value == "UCUM"
    assert {part.obx.obx_4.value for part in (value, *rest)} == {one.result_id[:20]}
    held = {part.obx.obx_3.ce_1.value: part.obx.obx_5.to_er7() for part in rest}
    for field in ("expanded_uncertainty", "coverage_factor", "detection_limit", "quantitation_limit", "verdict"):
        assert held.get(field, "") == ("" if is_gone else getattr(one, field))
    for field in ("result_id", "revision", "certificate_no", "lot_id"):
        assert read_back(held.get(field, "")) == getattr(one, field)
    assert held["row_no"] == "1"
    order = message.oru_r01_patient_result.oru_r01_order_observation
    assert order.obr.obr_2.value == one.client_order_id
    assert order.obr.obr_3.value == one.lab_sample_id
    assert order.oru_r01_specimen.spm.spm_18.value == one.received_at.replace("-", "")


@pytest.mark.parametrize("value", ["0.0670", "-0.0021", "0.00", "1230000", "0.12345678901234"])
def test_no_figure_is_lost_or_added(value: str) -> None:
    assert first_obx(row(value_number=value, value_text=value))[5] == value
    assert beside(row(expanded_uncertainty="0.0080"))["expanded_uncertainty"][5] == "0.0080"


def test_a_value_has_its_code_unit_limits_method_people_and_times() -> None:
    obx = first_obx(row(spec_low="0.01", analyst_id="p-ana p-ben", analyst_name="Ana Keel; Ben Ash"))
    assert obx[3] == "PB-C^Lead^L^7439-92-1^lead^CAS"
    assert obx[6:9] == ["ug/g^µg/g^UCUM", "0.01-0.5", "N"]
    assert obx[11] == "F"
    assert obx[14] == "20260227"
    assert obx[16:20] == ["p-ana^Ana Keel~p-ben^Ben Ash", "^lead-furnace, version 1", "AAS-1", "20260302101530+0000"]


def test_names_that_may_be_another_persons_are_left_out() -> None:
    assert first_obx(row(analyst_id="p-ana p-ben", analyst_name="Ana Keel"))[16] == "p-ana~p-ben"


def test_a_person_whose_identifier_is_too_long_for_its_place_stands_with_the_name() -> None:
    assert first_obx(row(analyst_id="p-a-long-surname", analyst_name="Ana Keel"))[16] == "^Ana Keel"
    assert first_obx(row(analyst_id="p-a-long-surname p-b", analyst_name="Ana Keel"))[16] == "^p-a-long-surname~p-b"


def test_a_code_for_the_product_goes_before_one_for_every_product() -> None:
    blood = replace(LEAD, code="5671-3", system="LN", product="Blood")
    words = with_words(codes=(LEAD, blood))
    assert check_profile(words) == ()

    def of(product: str) -> str:
        return next(line for line in lines([row(product=product)], words) if line[0] == "OBX")[3].split("^")[0]

    assert (of("Blood"), of("Urine")) == ("5671-3", "PB-C")
    assert codes([row(product="Urine")], with_words(codes=(blood,))) == ["export.hl7-unmapped"]


def test_results_of_a_supplement_are_final_and_one_of_them_released_before_is_a_correction() -> None:
    more: dict[str, Any] = {"certificate_kind": "supplement", "certificate_no": "C-2026-00013"}
    rows = [row(), row(result_id="f" * 32, **more), row(revision="3", change_kind="corrected", **more)]
    made = messages(rows)
    assert len(made) == 2
    statuses = [{(one.obx.obx_4.value, one.obx.obx_11.value) for one in observations(message)} for message in made]
    assert statuses == [{("0123456789abcdef0123", "F")}, {("f" * 20, "F"), ("0123456789abcdef0123", "C")}]
    assert [of.oru_r01_patient_result.oru_r01_order_observation.obr.obr_25.value for of in made] == ["F", "C"]


def test_uncertainty_and_limits_have_their_units() -> None:
    found = beside(row(uncertainty_unit="mg/kg"))
    assert found["expanded_uncertainty"][6] == "mg/kg^^UCUM"
    assert found["detection_limit"][6] == found["quantitation_limit"][6] == "ug/g^µg/g^UCUM"
    assert found["coverage_factor"][6] == ""
    assert found["coverage_factor"][2] == "NM"
    assert found["verdict"][2] == found["revision"][2].replace("NM", "ST") == "ST"


def test_order_and_specimen() -> None:
    found = {line[0]: line for line in lines([row()])}
    assert found["ORC"] == ["ORC", "RE", "PO-4711", "S-00012"]
    assert found["OBR"][4] == "METALS^Metals^L"
    assert (found["OBR"][7], found["OBR"][22], found["OBR"][25]) == ("20260227", "20260303080000.000+0000", "F")
    assert found["SPM"][2:5] == ["A/12^S-00012", "", "^Zinc lozenges"]
    assert found["SPM"][17:] == ["20260227", "20260301"]


@pytest.mark.parametrize(
    ("fields", "due"),
    [
        ({"spec_low": "", "spec_high": "0.5"}, "<0.5"),
        ({"spec_low": "0.1", "spec_high": ""}, ">0.1"),
        ({"spec_low": "", "spec_high": ""}, ""),
    ],
)
def test_limits_as_the_standard_writes_them(fields: dict[str, str], due: str) -> None:
    assert first_obx(row(ORDINARY, **fields))[7] == due


@pytest.mark.parametrize(
    ("fields", "due"),
    [
        ({"verdict": "fail", "value_number": "0.51"}, "H"),
        ({"verdict": "fail", "value_number": "0.5"}, "A"),  # a portion outside, or a guard band
        ({"verdict": "fail", "value_number": "9.9", "spec_low": "10", "spec_high": "11"}, "L"),
        ({"verdict": "fail", "qualifier": "<", "value_number": "0.9"}, "A"),
        ({"verdict": "conditional_fail", "value_number": "0.51"}, ""),
        ({"verdict": "inconclusive"}, ""),
        ({"verdict": ""}, ""),
    ],
)
def test_a_failed_value_says_on_which_side(fields: dict[str, str], due: str) -> None:
    assert first_obx(row(ORDINARY, **fields))[8] == due


def test_below_a_limit_is_a_structured_number() -> None:
    obx = first_obx(CASES["a result below its limit"])
    assert (obx[2], obx[5], obx[11]) == ("SN", "<^0.050", "F")
    assert "expanded_uncertainty" not in beside(CASES["a result below its limit"])


def test_not_determined_has_no_value_and_says_why() -> None:
    one = CASES["a result that could not be determined"]
    assert (first_obx(one)[2], first_obx(one)[5], first_obx(one)[11]) == ("NM", "", "X")
    (note,) = [line for line in lines([one]) if line[0] == "NTE"]
    assert note == ["NTE", "1", "L", "a check failed", "note^note^L"]


def test_a_correction_says_so_in_every_place_and_why() -> None:
    one = CASES["a corrected result"]
    found = lines([one])
    assert {line[11] for line in found if line[0] == "OBX"} == {"C"}
    assert next(line for line in found if line[0] == "OBR")[25] == "C"
    assert [line[3] for line in found if line[0] == "NTE"] == [one.change_reason]
    assert beside(one)["revision"][5] == "2"


def test_what_a_correction_does_not_have_any_more_is_marked_wrong() -> None:
    below = row(CASES["a result below its limit"], revision="2", change_kind="corrected", replaces_revision="1")
    assert first_obx(below)[11] == "C"
    assert (beside(below)["expanded_uncertainty"][5], beside(below)["expanded_uncertainty"][11]) == ("", "W")
    lost = row(CASES["a result that could not be determined"], revision="2", change_kind="corrected")
    assert (first_obx(lost)[5], first_obx(lost)[11]) == ("", "W")


def test_a_withdrawal_takes_back_every_number() -> None:
    one = CASES["a withdrawn result"]
    assert one.detection_limit  # the row still has it
    assert (first_obx(one)[5], first_obx(one)[8], first_obx(one)[11]) == ("", "", "W")
    for field in ("expanded_uncertainty", "coverage_factor", "detection_limit", "quantitation_limit", "verdict"):
        assert (beside(one)[field][5], beside(one)[field][11]) == ("", "W")
    assert (beside(one)["revision"][5], beside(one)["revision"][11]) == ("2", "C")
    assert [line[3] for line in lines([one]) if line[0] == "NTE"] == [one.change_reason]
    order = next(line for line in lines([one]) if line[0] == "OBR")
    assert (order[22], order[25]) == ("", "C")


def test_a_sum_has_its_own_code_whatever_the_order_of_its_elements() -> None:
    obx = first_obx(CASES["a sum of results"])
    assert obx[3] == "SUM^Lead and cadmium^L"
    assert obx[17] == "^lead-furnace~^cadmium-furnace"


# Escaping


@given(
    st.text(
        st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufeff") | st.sampled_from('|^&~\\"\r\n\t'),
        max_size=39,  # ST holds 199 characters, and an escape has up to five
    )
)
def test_every_text_comes_back_and_never_breaks_a_segment(text: str) -> None:
    made = written(Segment("NTE", {1: "1", 3: text, 4: ("a", text, "c")}))
    name, first, second, third, fourth = made.split("|")
    assert "\r" not in made
    assert "\n" not in made
    assert (name, first, second) == ("NTE", "1", "")
    assert third != '""'
    assert read_back(third) == text
    assert [read_back(part) for part in fourth.split("^")] == ["a", text, "c"]


def test_delimiters_are_escaped_as_hl7apy_reads_them() -> None:
    text = "a|b^c&d~e\\f"
    (message,) = messages([row(product=text, lot_id=text)])
    spm = message.oru_r01_patient_result.oru_r01_order_observation.oru_r01_specimen.spm
    assert spm.spm_4.cwe_2.to_er7() == "a\\F\\b\\S\\c\\T\\d\\R\\e\\E\\f"


@given(
    st.text(
        st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\\\ufeff") | st.sampled_from("|^&~"),
        max_size=39,
    )
)
def test_delimiters_are_escaped_as_hl7apy_escapes_them(text: str) -> None:
    """But for the escape character itself, which hl7apy escapes by what stands around it."""
    if text != '""':
        due = ST(text, validation_level=VALIDATION_LEVEL.TOLERANT).to_er7(MARKS)
        assert written(Segment("NTE", {3: ("x", text)})) == f"NTE|||x^{due}".rstrip("^")


def test_two_quotes_are_a_text_and_no_null() -> None:
    assert next(line for line in lines([row(note='""')]) if line[0] == "NTE")[3] == "\\X22\\\\X22\\"


@pytest.mark.parametrize(
    ("text", "due"),
    [
        ("2026-02-27", "20260227"),
        ("2026-03-04T14:02:11.25Z", "20260304140211.25+0000"),
        ("2026-03-04T14:02:11-05:30", "20260304140211-0530"),
        ("", ""),
    ],
)
def test_days_and_times(text: str, due: str) -> None:
    assert stamp(text) == due


# What is refused


@pytest.mark.parametrize(
    "fields",
    [
        {"element_symbol": "Cd"}, {"unit_ucum": "mg/kg"}, {"reported_quantity": "concentration"}, {"basis": "dry"},
        {"fraction": "dissolved"}, {"expressed_as": "PbO"},
        {"element_symbol": "", "sum_elements": "Pb Cd", "sum_bound": "upper_bound"},
    ],
)  # fmt: skip
def test_a_result_no_code_is_for_is_refused(fields: dict[str, str]) -> None:
    assert codes([row(ORDINARY, **fields)], with_words(codes=(LEAD,))) == ["export.hl7-unmapped"]


def test_a_sum_of_another_bound_has_no_code() -> None:
    assert codes([row(CASES["a sum of results"], sum_bound="lower_bound")]) == ["export.hl7-unmapped"]


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"value_number": "0.123456789012345"}, "export.too-long"),
        ({"qualifier": "<", "value_number": "0.12345678901234"}, "export.too-long"),
        ({"detection_limit": "0.123456789012345"}, "export.too-long"),
        ({"uncertainty_unit": "u" * 21}, "export.too-long"),
        ({"uncertainty_unit": "u^" * 6}, "export.too-long"),  # 24 with its escapes
        ({"product": "p" * 200}, "export.too-long"),
        ({"product": "|" * 67}, "export.too-long"),  # 201 with its escapes
        ({"note": "n" * 65537}, "export.too-long"),
        ({"product": ""}, "export.missing"),
        ({"note": "a\0b"}, "export.control-character"),
        ({"product": "a\x0bb"}, "export.control-character"),
        ({"measured_at": "yesterday"}, "export.date-unreadable"),
        ({"received_at": "27.02.2026"}, "export.date-unreadable"),
    ],
)
def test_what_a_message_cannot_carry_is_refused(fields: dict[str, str], code: str) -> None:
    assert codes([row(ORDINARY, **fields)]) == [code]


def test_every_problem_is_told_with_its_row_segment_and_field() -> None:
    made = render([row(), row(result_id="e" * 32, element_symbol="Cd", note="a\0b")], profile(), DELIVERY)
    assert isinstance(made, tuple)
    assert [one.code for one in made] == ["export.hl7-unmapped", "export.control-character"]
    assert made[0].where == f"row 2 (S-00012 Cd, result {'e' * 32}), OBX of value_number"
    assert "Cd, content, total, as received, ug/g" in made[0].what


def test_a_delivery_whose_name_is_too_long_for_a_control_id_is_refused() -> None:
    made = render([row()], profile(), replace(DELIVERY, delivery_id="D" * 19))
    assert isinstance(made, tuple)
    assert [one.code for one in made] == ["export.too-long"]
    assert isinstance(render([row()], profile(), replace(DELIVERY, delivery_id="D" * 18)), bytes)


UNFIT: dict[str, tuple[dict[str, Any], list[str]]] = {
    "columns": ({"columns": (Column("C", "change_kind"),)}, ["profile.columns-unfit"]),
    "no words": ({"hl7": None}, ["profile.hl7-missing"]),
    "risky text": ({"risky_text": "prefix"}, ["profile.risky-text-unfit"]),
    "own lines": ({"closing_lines": ("T",)}, ["profile.lines-unfit"]),
    "encoding": ({"file": FileForm("utf-8", kind="hl7_v2")}, ["profile.file-word-unfit"]),
    "described": ({"beside": ("csvw",)}, ["profile.beside-unfit"]),
    "words elsewhere": (
        {"file": FileForm(kind="json_lines"), "columns": (Column("C", "change_kind"),)}, ["profile.hl7-unfit"],
    ),
    "no columns elsewhere": ({"file": FileForm(kind="json_lines"), "hl7": None}, ["profile.columns-missing"]),
    "a line break": ({"hl7": replace(WORDS, sending_facility="a\rb")}, ["profile.text-not-printable"]),
    "a name of a code": ({"hl7": replace(WORDS, codes=(replace(LEAD, name="a\tb"),))}, ["profile.text-not-printable"]),
    "a facility too long with its escapes": (
        {"hl7": replace(WORDS, sending_facility="L|^~\\&\\nA")}, ["profile.hl7-text-too-long"],
    ),
    "an application too long with its escapes": (
        {"hl7": replace(WORDS, receiving_application="R&D & R&D & R&D")}, ["profile.hl7-text-too-long"],
    ),
    "a code too long with its escapes": (
        {"hl7": replace(WORDS, codes=(replace(LEAD, code="P^B^1^2^3^4^5^6"),))}, ["profile.hl7-text-too-long"],
    ),
    "a system too long with its escapes": (
        {"hl7": replace(WORDS, panel=Hl7Panel("METALS", "Metals", "^" * 7))}, ["profile.hl7-text-too-long"],
    ),
    "a name too long with its escapes": (
        {"hl7": replace(WORDS, codes=(replace(LEAD, name="Lead" + "&" * 66),))}, ["profile.hl7-text-too-long"],
    ),
    "a product too long with its escapes": (
        {"hl7": replace(WORDS, codes=(replace(LEAD, product="|" * 67),))}, ["profile.hl7-text-too-long"],
    ),
    "two codes for one": (
        {"hl7": replace(WORDS, codes=(LEAD, replace(LEAD, code="OTHER")))}, ["profile.hl7-code-twice"],
    ),
    "one code for two": (
        {"hl7": replace(WORDS, codes=(LEAD, replace(LEAD, basis="dry")))}, ["profile.hl7-code-shared"],
    ),
    "a sum without its bound": (
        {"hl7": replace(WORDS, codes=(replace(LEAD, element="Pb Cd"),))}, ["profile.hl7-sum-unfit"],
    ),
    "LOINC without a specimen": (
        {"hl7": replace(WORDS, codes=(replace(LEAD, system="LN"),))}, ["profile.hl7-product-missing"],
    ),
    "a bound without a sum": (
        {"hl7": replace(WORDS, codes=(replace(LEAD, sum_bound="lower_bound"),))}, ["profile.hl7-sum-unfit"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", UNFIT)
def test_words_that_do_not_go_with_messages_are_refused(name: str) -> None:
    changes, due = UNFIT[name]
    problems = check_profile(profile(**changes))
    assert [problem.code for problem in problems] == due
    assert render([row()], profile(**changes), DELIVERY) == problems


def test_one_code_in_two_units_is_allowed_and_so_is_one_in_two_systems() -> None:
    assert check_profile(with_words(codes=(LEAD, replace(LEAD, unit="mg/kg")))) == ()
    assert check_profile(with_words(codes=(LEAD, replace(LEAD, basis="dry", system="99LAB")))) == ()


def test_a_bad_place_is_seen_beside() -> None:
    from benchseal.records.profile import SendTo  # noqa: PLC0415

    assert [one.code for one in check_profile(profile(send_to=SendTo("folder")))] == ["profile.place-word-missing"]


# export check and preview


def test_every_case_of_export_check_is_written_but_what_cannot_be() -> None:
    refused = {case.case for case in tried(profile()) if case.problems}
    assert refused == set()
    without = {case.case: [one.code for one in case.problems] for case in tried(with_words(codes=(LEAD,)))}
    assert {name for name, found in without.items() if found} == {
        "another unit", "a result on dry basis", "a result given as a substance", "a sum of results",
    }  # fmt: skip


def test_a_preview_shows_each_segment_with_its_field_and_what_stops_it() -> None:
    (cells, bad) = preview([row(), row(element_symbol="Cd")], profile(), DELIVERY)
    shown = {(cell.title, cell.field): cell for cell in cells}
    assert shown["OBX", "value_number"].text.startswith("OBX|1|NM|PB-C^Lead^L")
    assert shown["MSH", "delivery_id"].problem is None
    (fault,) = [cell for cell in bad if cell.problem]
    assert (fault.title, fault.field, fault.text) == ("OBX", "value_number", "")
    assert fault.problem is not None
    assert fault.problem.where.startswith("row 2 ")


def test_the_fields_of_a_released_row_that_messages_name_exist() -> None:
    names = {field.name for field in dataclasses.fields(ReleasedRow)} | set(DELIVERY_FIELDS)
    assert {cell.field for cells in preview(list(CASES.values()), profile()) for cell in cells} <= names


# The controlled document


def test_schema_and_records_have_the_same_words() -> None:
    part = json.loads(schema("profile"))["properties"]["hl7"]
    code = part["properties"]["codes"]["items"]
    for kind, words in ((Hl7, part), (Hl7Panel, part["properties"]["panel"]), (Hl7Code, code)):
        fields = dataclasses.fields(kind)
        assert {field.name for field in fields} == set(words["properties"])
        assert {field.name for field in fields if field.default is dataclasses.MISSING} == set(words["required"])
    assert code["properties"]["quantity"]["enum"] == list(get_args(Quantity))


def test_the_starter_uses_every_word() -> None:
    text = starter("profiles/messages-hl7.yaml")
    value = json.loads(json.dumps(YAML(typ="safe", pure=True).load(text)))
    Draft202012Validator(json.loads(schema("profile"))).validate(value)
    sample = record_of(Profile, value)
    assert check_profile(sample) == ()
    assert read_record(Profile, record_bytes(sample)) == sample
    assert {key for code in value["hl7"]["codes"] for key in code} == {one.name for one in dataclasses.fields(Hl7Code)}


@pytest.mark.parametrize(
    ("wrong", "instead"),
    [
        ("processing: T", "processing: D"),
        ("element: Cd Pb", "element: cd"),
        ("quantity: percent_of_claim", "quantity: mass"),
        ("sending_facility: LABORATORY", "sending_facility: A NAME OF MORE THAN TWENTY"),
        ("panel: {code: METALS, name: Metals, system: L}", "panel: {code: METALS}"),
        ("basis: dry", "basis: wet"),
    ],
)
def test_words_that_are_none_are_told_with_their_line(wrong: str, instead: str) -> None:
    text = starter("profiles/messages-hl7.yaml")
    line = next(number for number, each in enumerate(text.splitlines(), 1) if wrong in each)
    found = read_document(text.replace(wrong, instead, 1).encode(), "messages.yaml")
    assert isinstance(found, tuple)
    assert all(one.where.startswith(f"messages.yaml, line {line}, ") for one in found), found
