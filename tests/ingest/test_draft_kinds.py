"""Kinds of solution a draft guesses from codes and names of the trade, and what it says where it does not know."""

from __future__ import annotations

import pytest

from benchseal.ingest.accounting import Accounted, accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.guess_columns import kind_by_name, kinds_of_codes
from benchseal.ingest.picture import picture_html, picture_text
from benchseal.records.run import DocumentRef

HEAD = "Serial number: TQ-4\nTechnique: flame\nElement: Pb 283.3 nm\nDate: 2026-03-12 09:10:00\n"

# Words as laboratories write them: common practice, no source; ICV, CCV, ICB, CCB, LCS, LFB and LRB as in methods of
# the US EPA (200.9, 6010), from memory.
WORDS = {
    "check_blank": "CHKBLK; Chk Blk 2; Check blank; CCB; ICB-1; QC blank; Leerprüfung; Leerpruefung 2; Kontrollblind",
    "second_source": "ICV; ICV 1; QCS; QCS-2; QC-2nd; Check second lot; Std zweite Charge; "
    "Second source; 2nd source; Zweitquelle; Zweitstandard",
    "check_standard": "QC2; QC 50; CCV-3; Check; CHK1; Prüfung; Pruefung; Prüfstandard 2; Kontrolle; Kontrollstandard",
    "method_blank": "MB-1; Method blank; Reagent blank; LRB; Aufschlussblindwert; Verfahrensblindwert 2",
    "calibration_blank": "B0; B-0; Blank; Blindwert; Leerwert; Cal 0; Zero",
    "standard": "Std 1; Cal 2; Eichung; Eichung 3; Eichpunkt 2; Eich 4; Kal 1; Kalibrierstandard 2; S3",
    "rinse": "Rinse; Spülen; Spuelen; Spüllösung",
    "duplicate": "A-7 dup; A-7 Doppel; Doppelbestimmung; A-7 Dup 2",
    "spiked_sample": "A-7 spike; Spike; Spike 2; Aufstockung; A-7 Aufstockung 1; A-7 aufgestockt",
    "control_sample": "LCS; LFB-2; Kontrollprobe 1; Control sample",
    "reference_material": "CRM; ZRM 1; Reference material; Referenzmaterial 3",
    "": "Eiche 3; Prüfling 7; Kalium forte; Icvara 2; Creme; Probe 4; Zweite Charge; B05; B0x; "
    "Doppelkorn 1 Liter; Lcs-Creme",
}
CASES = [(kind, word) for kind, words in WORDS.items() for word in words.split("; ")]


@pytest.mark.parametrize(("kind", "word"), CASES, ids=[word for _, word in CASES])
def test_a_name_tells_its_kind_or_none(kind: str, word: str) -> None:
    assert kind_by_name(word) == kind


@pytest.mark.parametrize(("kind", "word"), [case for case in CASES if case[0]], ids=[w for k, w in CASES if k])
def test_a_code_tells_its_kind_as_a_name_does(kind: str, word: str) -> None:
    assert kinds_of_codes(["P", word], ["A-7", "x1"])[word][0] == kind


@pytest.mark.parametrize("code", ["Blindwert", "Kontrolle", "B", "QC"])
def test_a_word_of_two_kinds_says_what_to_ask(code: str) -> None:
    """The remark names the other kind, in the draft a person reads."""
    _, why = kinds_of_codes(["P", code], ["A-7", "x1"])[code]
    assert ("method_blank" in why) != ("control_sample" in why)


LEVELS = ["KB", "KS", "KS", "KS", "PS"]


def test_names_behind_the_symbol_of_an_element_tell_their_kind() -> None:
    found = kinds_of_codes(LEVELS, ["Ni-B0", "Ni-S1", "Ni-S2", "Ni-S3", "Check 1"])
    assert {code: kind for code, (kind, _) in found.items()} == {
        "KB": "calibration_blank",
        "KS": "standard",
        "PS": "check_standard",
    }


@pytest.mark.parametrize("name", ["Xy-S1", "Ni-Ware 1", "NiS1", "Ni"])
def test_other_names_behind_a_symbol_tell_none(name: str) -> None:
    assert kinds_of_codes(["zz", "P"], [name, "w"])["zz"][0] == ""


def test_codes_of_two_kinds_are_asked_where_no_name_tells() -> None:
    """KB and KS stand for calibration and for control in German; neither is ever taken for samples."""
    found = kinds_of_codes(LEVELS, ["a", "b", "c", "d", "e"])
    assert (found["KB"][0], found["KS"][0]) == ("", "")


def test_a_code_with_a_concentration_given_is_none_of_samples() -> None:
    codes, names = ["za", "za", "zb"], ["a", "b", "c"]
    assert kinds_of_codes(codes, names)["za"][0] == "sample"
    found = kinds_of_codes(codes, names, ["0.5", "1.0", ""])
    assert (found["za"][0], found["zb"][0]) == ("", "sample")


def test_a_code_that_speaks_of_another_kind_than_its_names_is_told() -> None:
    kind, why = kinds_of_codes(["ICV", "P"], ["QC 50", "w"])["ICV"]
    assert kind == "check_standard"
    assert "the code itself looks like second_source" in why


@pytest.mark.parametrize("header", ["Soll µg/mL", "Set mg/L", "target ppb", "Soll [mg/L]", "Sollwert, ng/mL"])
def test_a_unit_without_brackets_hides_no_concentration_given(header: str) -> None:
    text = HEAD + f"Sample;Type;{header};Rep;Abs\nA1;S;1.0;1;0.1\nA2;B;0;1;0.001\nA3;P;;1;0.3\n"
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft)
    assert draft.layout.table.columns[2].means == "nominal"
    assert [run.solutions.nominal for run in _told(text).documents] == [("1.0", "0", "")]


def _told(text: str) -> Accounted:
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return accounted(text.encode(), "x.txt", draft.layout, DocumentRef("draft", 0, "0" * 64))


def test_the_picture_says_that_a_kind_is_not_known() -> None:
    text = HEAD + "Sample;Type;Rep;Abs\nA1;S;1;0.1\nA2;B;1;0.001\nA3;zq;1;0.3\nA4;zq;1;0.3\nA5;zw;1;0.2\n"
    told = _told(text)
    assert {each.code for each in told.problems} == {"ingest.kind-unknown"}
    for shown in ("\n".join(picture_text(told)), picture_html(told, "x")):
        assert "5 A5: kind not known" in shown
        assert "rinse" not in shown


GOOD = HEAD + "No;Sample;Rep;Abs\n1;Blank;1;0.001\n2;Std 1;1;0.101\n3;Std 2;1;0.201\n4;Ware;1;0.051\n"


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        pytest.param({"2;Std 1;1;0.101": "2;Std 1;1;0.101;x"}, ["row-unfit"], id="one row does not fit"),
        pytest.param({"1;Blank;1;": "1;Blank;x;1;"}, ["row-unfit"], id="the first row does not fit"),
        pytest.param(
            {"2;Std 1;1;0.101\n3;Std 2;1;0.201\n": "2;Std 1;1\n"},
            ["row-unfit", "position-gap"],
            id="its own gap is told",
        ),
        pytest.param({"2;Std 1;1;0.101\n": ""}, ["position-gap"], id="a gap alone"),
    ],
)
def test_one_fault_of_a_row_is_one_problem(changes: dict[str, str], codes: list[str]) -> None:
    draft = proposed(GOOD.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft)
    text = GOOD
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    found = accounted(text.encode(), "x.txt", draft.layout, DocumentRef("draft", 0, "0" * 64)).problems
    assert [each.code for each in found] == [f"ingest.{code}" for code in codes]
