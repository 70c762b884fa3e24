"""What a map, a flag or a text for an empty field may not take away: each way to mislead, and what stays allowed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchseal.export.edge_cases import edge_cases, tried
from benchseal.export.profiles import check_profile
from benchseal.export.record_words import WORDS
from benchseal.export.render import render
from benchseal.records.profile import Choose, Column, FileForm, Profile
from benchseal.records.released import Delivery
from benchseal.records.run import DocumentRef

FILE = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
CHANGE = Column("CHANGE", "change_kind")
VALUE = Column("V", "value_number", unit="ug/g")
ROWS = edge_cases()


def profile(*columns: Column) -> Profile:
    return Profile("profile", "partner", "Partner", FILE, "keep", columns, Choose(methods=("m",)))


def found(*columns: Column) -> list[str]:
    return [problem.code for problem in check_profile(profile(*columns))]


def flag(field: str, *holds: str, **more: str) -> Column:
    return Column("F", field, form="flag", holds=holds, yes="1", no="0", **more)  # type: ignore[arg-type]  # texts


def said(field: str, *holds: str, yes: str, no: str) -> Column:
    return Column("F", field, form="flag", holds=holds, yes=yes, no=no)


def missing(field: str, text: str, **more: str) -> Column:
    return Column("M", field, when_missing="text", missing_text=text, **more)  # type: ignore[arg-type]  # texts


MISLEADING: dict[str, tuple[tuple[Column, ...], str]] = {
    "verdict in other words": ((CHANGE, flag("verdict", "failed")), "flag-word-unknown"),
    "kind in other words": ((CHANGE, flag("reported_kind", "measured", "below limit")), "flag-word-unknown"),
    "flag of a code that is none": ((CHANGE, flag("flags", "comment_requried")), "flag-word-unknown"),
    "number for no number": ((CHANGE, Column("Q", "qualifier"), replace(VALUE, when_missing="text", missing_text="0")),
                             "missing-text-misleads"),
    "decimal comma for no number": ((CHANGE, missing("dilution_factor", "1,0")), "missing-text-misleads"),
    "value for no value": ((CHANGE, missing("value_text", "<0.050", unit="ug/g")), "missing-text-misleads"),
    "sign for no sign": ((CHANGE, missing("qualifier", "<")), "missing-text-misleads"),
    "another sign for no sign": ((CHANGE, missing("qualifier", ">=")), "missing-text-misleads"),
    "verdict for no verdict": ((CHANGE, missing("verdict", "PASS")), "missing-text-misleads"),
    "mapped verdict for no verdict": ((CHANGE, missing("verdict", "OK", map={"pass": "OK"})),  # type: ignore[arg-type]
                                      "missing-text-misleads"),
    "unit for no unit": ((CHANGE, missing("unit_ucum", "ug/g")), "missing-text-misleads"),
    "element for no element": ((CHANGE, missing("element_symbol", "Pb")), "missing-text-misleads"),
    "date for no date": ((CHANGE, missing("sampled_at", "2000-01-01")), "missing-text-misleads"),
    "date in the column's own form": ((CHANGE, missing("sampled_at", "31.12.99", date_form="DD.MM.YY")),
                                      "missing-text-misleads"),
    "yes of a flag for nothing": ((CHANGE, flag("verdict", "fail", when_missing="text", missing_text="1")),
                                  "missing-text-misleads"),
    "no of a flag for no verdict": ((CHANGE, flag("verdict", "fail", when_missing="text", missing_text="0")),
                                    "missing-text-misleads"),
    "new and withdrawn alike": ((Column("C", "change_kind", map={"new": "N", "corrected": "C", "withdrawn": "n"}),),
                                "map-merges"),
    "verdicts alike": ((CHANGE, Column("D", "verdict", map={"pass": "OK", "fail": "OK"})), "map-merges"),
    "kinds alike": ((CHANGE, Column("K", "reported_kind", map={"measured": "M", "below_limit": "M"})), "map-merges"),
    "bases alike": ((CHANGE, Column("B", "basis", map={"as received": "x", "dry": "x"})), "map-merges"),
    "units alike": ((CHANGE, Column("U", "unit_ucum", map={"ug/g": "conc", "mg/L": "conc"})), "map-merges"),
    "elements alike": ((CHANGE, Column("E", "element_symbol", map={"Pb": "M", "Cd": "M"})), "map-merges"),
    "a unit as another": ((CHANGE, Column("U", "unit_ucum", map={"ug/g": "mg/L"})), "map-misleads"),
    "a verdict as another": ((CHANGE, Column("D", "verdict", map={"fail": "pass"}, when_unmapped="keep")),
                             "map-misleads"),
    "sign as a blank": ((CHANGE, Column("Q", "qualifier", map={"<": " "})), "map-misleads"),
    "withdrawn as nothing": ((Column("C", "change_kind", map={"new": "N", "withdrawn": ""}),), "map-misleads"),
    "inf for no number": ((CHANGE, missing("dilution_factor", "-Infinity")), "missing-text-misleads"),
    "nan for no number": ((CHANGE, missing("dilution_factor", "sNaN")), "missing-text-misleads"),
    "wide figures for no number": ((CHANGE, missing("dilution_factor", "１.５")), "missing-text-misleads"),  # noqa: RUF001
    "figures of another script": ((CHANGE, missing("dilution_factor", "٣")), "missing-text-misleads"),
    "usual word for no verdict": ((CHANGE, missing("verdict", "OK")), "missing-text-misleads"),
    "percent for no unit": ((CHANGE, missing("uncertainty_unit", "percent")), "missing-text-misleads"),
    "verdict by its opposite": ((CHANGE, Column("D", "verdict", map={"fail": "OK", "pass": "P"})), "map-misleads"),
    "sign by another": ((CHANGE, Column("Q", "qualifier", map={"<": ">"})), "map-misleads"),
    "sign by a near one": ((CHANGE, Column("Q", "qualifier", map={"<": "<="})), "map-misleads"),
    "sign by a wide one": ((CHANGE, Column("Q", "qualifier", map={"<": "＞"})), "map-misleads"),  # noqa: RUF001
    "sign by words": ((CHANGE, Column("Q", "qualifier", map={"<": "GT"})), "map-misleads"),
    "sign by a number": ((CHANGE, Column("Q", "qualifier", map={"<": "0"})), "map-misleads"),
    "uncertainty in another unit": ((CHANGE, Column("U", "uncertainty_unit", map={"ug/g": "mg/g"})), "map-misleads"),
    "unit by percent": ((CHANGE, Column("U", "unit_display", map={"ug/g": "percent"})), "map-misleads"),
    "unit by ppb": ((CHANGE, Column("U", "unit_ucum", map={"ug/g": "PPB"})), "map-misleads"),
    "volume by parts of mass": ((CHANGE, Column("U", "unit_ucum", map={"mg/L": "ppm"})), "map-misleads"),
    "unit in capitals": ((CHANGE, Column("U", "unit_ucum", map={"ug/g": "MG/G"})), "map-misleads"),
    "unit with powers": ((CHANGE, Column("U", "unit_ucum", map={"ug/g": "mg g-1"})), "map-misleads"),
    "revoked as signed": ((CHANGE, Column("S", "signature_state", map={"revoked": "signed"})), "map-misleads"),
    "result by another name": ((CHANGE, Column("I", "result_id", map={"a": "b"}, when_unmapped="keep")), "map-of-name"),
    "certificate by another name": ((CHANGE, Column("I", "certificate_no", map={"a": "b"})), "map-of-name"),
    "sample by another name": ((CHANGE, Column("S", "client_sample_id", map={"a": "x"})), "map-of-name"),
    "lot by another name": ((CHANGE, Column("S", "lot_id", map={"a": "x"})), "map-of-name"),
    "customers alike": ((CHANGE, Column("S", "customer_id", map={"a": "x", "b": "x"})), "map-merges"),
    "fail written as pass": ((CHANGE, said("verdict", "fail", yes="pass", no="no failure")), "flag-misleads"),
    "pass written as fail": ((CHANGE, said("verdict", "pass", yes="FAIL", no="no pass")), "flag-misleads"),
    "all else written as pass": ((CHANGE, said("verdict", "fail", yes="fail", no="pass")), "flag-misleads"),
    "fail in usual words": ((CHANGE, said("verdict", "fail", yes="OK", no="no failure")), "flag-misleads"),
    "pass in usual words": ((CHANGE, said("verdict", "pass", yes="nok", no="-")), "flag-misleads"),
    "withdrawn as new": ((said("change_kind", "withdrawn", yes="new", no="x"),), "flag-misleads"),
    "corrected as new": ((said("change_kind", "withdrawn", yes="W", no="new"),), "flag-misleads"),
    "dry as received": ((CHANGE, said("basis", "dry", yes="as received", no="-")), "flag-misleads"),
    "less as more": ((CHANGE, said("qualifier", "<", yes=">", no="-")), "flag-misleads"),
    "unit as another by a flag": ((CHANGE, said("unit_ucum", "ug/g", yes="mg/g", no="x")), "flag-misleads"),
    "all else as one unit": ((CHANGE, said("unit_ucum", "ug/g", yes="x", no="mg/g")), "flag-misleads"),
    "value by a map": ((CHANGE, Column("V", "value_text", unit="ug/g", map={"<0.050": "0.050"}, when_unmapped="keep")),
                       "map-of-value"),
    "number by a map": ((CHANGE, Column("Q", "qualifier"), replace(VALUE, form="text", map={"0.067": "0.68"})),
                        "map-of-value"),
    "flag that says new": ((flag("change_kind", "new"),), "change-not-shown"),
    "flag of all changes": ((flag("change_kind", "new", "corrected", "withdrawn"),), "change-not-shown"),
    "flag of both kinds": ((CHANGE, VALUE, flag("reported_kind", "measured", "below_limit")), "limit-not-shown"),
    "flag of neither kind": ((CHANGE, VALUE, flag("reported_kind", "not_determined")), "limit-not-shown"),
    "flag of a value": ((CHANGE, VALUE, replace(flag("value_text", "0.067"), unit="")), "limit-not-shown"),
    "flag of a unit": ((CHANGE, Column("V", "value_text"), flag("unit_ucum", "ug/g")), "unit-not-shown"),
}  # fmt: skip


@pytest.mark.parametrize("name", MISLEADING)
def test_a_column_that_takes_the_distinction_away_is_refused(name: str) -> None:
    columns, code = MISLEADING[name]
    assert set(found(*columns)) >= {f"profile.{code}"}
    assert len(found(*columns)) == (2 if name == "flag of a value" else 1), found(*columns)


ALLOWED: dict[str, tuple[Column, ...]] = {
    "flag of withdrawals": (flag("change_kind", "withdrawn"),),
    "flag of what is no withdrawal": (flag("change_kind", "new", "corrected"),),
    "flag of below": (CHANGE, VALUE, flag("qualifier", "<", when_missing="text", missing_text="0")),
    "flag of a kind": (CHANGE, VALUE, flag("reported_kind", "below_limit", "not_determined")),
    "flag of reasons": (CHANGE, flag("flags", "sum.part-missing", "comment_required")),
    "new left blank": (Column("C", "change_kind", map={"new": "", "corrected": "C", "withdrawn": "W"}),),
    "units of one size": (CHANGE, Column("U", "unit_ucum", map={"ug/g": "ppm", "mg/kg": "ppm"})),
    "unit in the reader's form": (CHANGE, Column("U", "unit_ucum", map={"ug/g": "µg/g"})),
    "words for nothing": (CHANGE, missing("verdict", "no limit"), replace(missing("dilution_factor", "-"), title="N")),
    "zeros for no date": (CHANGE, missing("sampled_at", "00000000", date_form="YYYYMMDD")),
    "own texts alike": (CHANGE, Column("S", "product", map={"a": "x", "b": "x"})),
    "a receiver's code for a customer": (CHANGE, Column("S", "customer_id", map={"ardlea": "4711"})),
    "a verdict by its own word": (CHANGE, said("verdict", "pass", "conditional_pass", yes="pass", no="fail")),
    "a verdict in usual words": (CHANGE, said("verdict", "fail", yes="NOK", no="not NOK")),
    "verdicts in usual words": (CHANGE, Column("D", "verdict", map={"pass": "OK", "fail": "NOK"})),
    "less in words": (CHANGE, Column("Q", "qualifier", map={"<": "less than"})),
    "less in a wide sign": (CHANGE, Column("Q", "qualifier", map={"<": "＜"})),  # noqa: RUF001
    "unit in capitals": (CHANGE, Column("U", "unit_ucum", map={"ug/g": "MG/KG", "mg/L": "MG/L", "%": "percent"})),
    "units by powers": (CHANGE, Column("U", "uncertainty_unit", map={"ug/g": "mg kg-1", "ug/kg": "ppb"})),
}


@pytest.mark.parametrize("name", ALLOWED)
def test_a_column_that_keeps_the_distinction_is_sound(name: str) -> None:
    assert found(*ALLOWED[name]) == []


DELIVERY = Delivery("D-1", 1, "2026-03-04T14:02:11.000Z", DocumentRef("partner", 1, "0" * 64))


@pytest.mark.parametrize(
    ("case", "column", "code"),
    [
        ("a result on dry basis", flag("basis", "as received", "dry"), "export.basis-not-shown"),
        ("a result given as a substance", flag("expressed_as", "PbO"), "export.substance-not-shown"),
        ("a sum of results", flag("sum_elements", "As Hg"), "export.sum-not-shown"),
        ("a result on dry basis", flag("basis", "dry"), ""),
        ("a result given as a substance", flag("expressed_as", "CaCO3"), ""),
        ("a sum of results", flag("sum_elements", "Pb Cd"), ""),
    ],
)
def test_a_flag_counts_where_it_says_what_the_row_is(case: str, column: Column, code: str) -> None:
    made = render([ROWS[case]], profile(CHANGE, Column("V", "value_text", unit="ug/g"), column), DELIVERY)
    codes = [one.code for one in made] if isinstance(made, tuple) else [""]
    assert codes == [code]


def test_the_words_are_those_of_rows() -> None:
    """Each word of a generated case is in the closed list of its field; each verdict has a case."""
    for row in ROWS.values():
        for field, known in WORDS.items():
            if field != "flags" and (text := getattr(row, field)):
                assert text in known, field
    assert {row.verdict for row in ROWS.values() if row.verdict} == set(WORDS["verdict"])


def test_a_failed_verdict_is_tried() -> None:
    """A profile whose map does not know it is told so before anything fails."""
    wanted = profile(CHANGE, Column("D", "verdict", map={"pass": "OK"}))
    refused = {one.case for one in tried(wanted) if one.problems}
    assert refused == {"a failed verdict", "a conditional pass", "a conditional fail", "an inconclusive verdict"}
