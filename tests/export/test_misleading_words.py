"""Words that say something else than the record: in a map, a flag, a fixed text, a title, or for an empty field.

What is allowed is listed, so each class is tried with words of several languages, look-alike letters and codes.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from benchseal.export.analytes import ANALYTES
from benchseal.export.date_titles import HOURS
from benchseal.export.element_words import names_another
from benchseal.export.profiles import check_profile
from benchseal.export.record_words import WORDS
from benchseal.export.senses import NOTHING, SENSES
from benchseal.export.title_words import ALSO, ASKED
from benchseal.export.usual_titles import USUAL_TITLES
from benchseal.export.usual_words import like_a_unit, same_size, unit_spelled
from benchseal.records.profile import Choose, Column, FileForm, Hl7, Hl7Code, Hl7Panel, Profile
from benchseal.records.quantities import known_units, unit_factor
from benchseal.records.specification import DecisionRule

FILE = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
LINES = FileForm(kind="json_lines")
CHANGE = Column("CHANGED", "change_kind")
VALUE = (CHANGE, Column("V", "value_number", unit="ug/g"), Column("Q", "qualifier"))
ONE = Choose(methods=("lead-furnace",))


def found(*columns: Column, choose: Choose = ONE, file: FileForm = FILE) -> list[str]:
    profile = Profile("profile", "partner", "Partner", file, "keep", columns, choose)
    return [problem.code.removeprefix("profile.") for problem in check_profile(profile)]


def mapped(field: str, **words: str) -> list[str]:
    return table(field, words)


def table(field: str, words: dict[str, str]) -> list[str]:
    return found(CHANGE, Column("M", field, map=words, when_unmapped="keep"))


NEVER: dict[tuple[str, str], str] = {
    (
        "qualifier",
        "<",
    ): "~|-|+|ca.|over|plus|about|min|mind.|über|»|⟩|at least|›|trace|>|>=|≤|0|more|＞|˂|less than 5",  # noqa: RUF001
    ("reported_kind", "below_limit"): "found|detected|positive|gemessen|present|result|valid|above_limit|measured|M|0",
    ("verdict", "fail"): (
        "conforme|green|A|released|0K|Y|true|1|p\u0430ss|ok.|grün|no fault|nicht beanstandet|approved|go|usable|safe|"
        "passed with remark|PASS1|ОК|conditional|whatever|\u2714|in Ordnung|J|yes|01|OK-2|[pass]|C0NF0RM"  # noqa: RUF001
    ),
    ("verdict", "inconclusive"): "pass?|pass|OK|1|A",
    ("verdict", "pass"): "fail|R|0|nok|X",
    ("change_kind", "withdrawn"): "new2|N|neu|released|0|final|update|valid|C|W2 new|ongoing",
    ("change_kind", "new"): "W|withdrawn|C|zurückgezogen",
    ("basis", "dry"): "total|FM|original|OS|frisch|w/w|wet|as is|AR|FW|basis",
    ("basis", "as received"): "TS|dry|TM|d.m.",
    ("signature_state", "revoked"): "signed|valid|ok|S|gültig",
    ("certificate_kind", "amendment"): "original|O|supplement",
    ("reported_quantity", "content"): "concentration|x|conc",
    ("technique", "flame"): "furnace|GFAAS|x|ICP",
    ("sum_bound", "upper_bound"): "lower|LB|x",
    ("fraction", "total"): "dissolved|gelöst",
    ("unit_ucum", "ug/g"): (
        "mg/100g|mg/1000kg|per mille|Mg/kg|kg/mg|ug/kilo|mg/Kg|ug/G|ug/g dry|units|gamma|ppm (dry)|mg/g|ppb|mg/L|ug|x|"
        "U07|mg/kg/d|ng/kg|%|g/kg|M1"
    ),
    ("unit_display", "mg/L"): "ppm|ug/L|mg/l d|Mg/L|mg/100mL|mM",
    ("element_symbol", "Pb"): "Cadmium|Cd|cd|Zink|CD-01|48|7440-43-9|PbO|Kadmium",
    ("element_symbol", "As"): "arsenate|As(III)|As, inorganic|Sb|AsO4|arsenic VI",
    ("element_symbol", "Cr"): "Cr(VI)|Cr VI|chromate|Cr hexavalent",
    ("analyte_name", "lead"): "cadmium|lead as PbO|lead oxide|Blei als PbO|tetraethyllead|Zn",
    ("expressed_as", "CaCO3"): "CaO|Ca|calcium|CaSO4",
    ("sum_elements", "Pb Cd"): "Pb As|arsenic + lead",
    ("customer_id", "ardlea"): "corrigan|corrigan-2",
    ("method_id", "lead-furnace"): "cadmium-furnace",
    ("instrument_id", "flame-1"): "furnace-1",
    ("analyst_id", "p-maren.holt"): "p-tobias.quill",
    ("reviewed_by", "p-a.b p-c.d"): "p-e.f p-c.d",
    ("released_by", "p-a.b"): "p-e.f",
    ("decision_rule", "pharma"): "guarded",
    ("flags", "comment_required"): "none|ok|0|-",
}


@pytest.mark.parametrize(
    ("field", "word", "text"),
    [(field, word, text) for (field, word), texts in NEVER.items() for text in texts.split("|")],
)
def test_a_map_to_what_is_not_listed_for_the_word_is_refused(field: str, word: str, text: str) -> None:
    assert table(field, {word: text}) == ["map-misleads"]


EVER: dict[tuple[str, str], str] = {
    ("qualifier", "<"): "<|LT|less than|below|kleiner als|＜",  # noqa: RUF001
    ("reported_kind", "below_limit"): "B|ND|<LOQ|n.n.|K02",
    ("reported_kind", "not_determined"): "NR|not reported|X",
    ("verdict", "inconclusive"): "UNDETERMINED|undecided|FAIL",
    ("change_kind", "corrected"): "REV|revised|C",
    ("reported_quantity", "percent_of_claim"): "% label claim|% claim",
    ("verdict", "fail"): "FAIL|R|nok|nicht bestanden|non conforme|0|R1|V-03|X|2",
    ("verdict", "pass"): "A|OK|conforme|1|P|PASS|J|E10",
    ("verdict", "conditional_pass"): "CP|pass|fail|R3",
    ("change_kind", "withdrawn"): "W|X|D|storniert|DELETE|Z|K-9",
    ("basis", "dry"): "TM|dry matter|B2",
    ("technique", "furnace"): "GFAAS|ETAAS|T2",
    ("unit_ucum", "ug/g"): "µg/g|mcg/g|ppm|mg/kg|MG/KG|ng/mg|g/t|mg per kg|mg kg-1|mg·kg⁻¹|mg / kg",
    ("unit_ucum", "mg/L"): "mg/l|MG/L|ug/mL|mg.L-1|mg L^-1",
    ("unit_ucum", "%"): "percent|g/100g|wt%",
    ("element_symbol", "Pb"): "LEAD|Blei|plomb|PB|82|7439-92-1|M-0017|PB-TOT|Pb, total|olovo",
    ("element_symbol", "In"): "IN|indium|Indio",
    ("analyte_name", "lead"): "Blei|Pb|PB01",
    ("analyte_name", "calcium as CaCO3"): "Calcium als CaCO3|calcium carbonate, as CaCO3",
    ("expressed_as", "CaCO3"): "CaCO3|S-12",
    ("customer_id", "ardlea"): "4711|ARD|Ardlea Works",
    ("product", "Lozenge 2.50 g"): "4711|Lozenges",
}


@pytest.mark.parametrize(
    ("field", "word", "text"),
    [(field, word, text) for (field, word), texts in EVER.items() for text in texts.split("|")],
)
def test_a_map_to_a_listed_word_or_a_code_is_sound(field: str, word: str, text: str) -> None:
    assert table(field, {word: text}) == []


def test_every_word_stands_for_itself_and_for_no_other() -> None:
    """Each closed word of the record, mapped to itself and to every other of its field."""
    for field, words in WORDS.items():
        for word in (word for word in words if field != "flags"):
            assert table(field, {word: word}) == [], (field, word)
            others = {one for one in words if one != word}
            # A verdict may be told more strictly; a pass on condition is a pass.
            milder = others - {"fail"} - ({"pass"} if word == "conditional_pass" else set())
            assert {field: [one for one in milder if table(field, {word: one}) != ["map-misleads"]]} == {field: []}


def test_words_exchanged_are_refused() -> None:
    assert table("product", {"Lozenge": "Powder", "Powder": "Lozenge"}) == ["map-misleads"] * 2
    assert table("change_kind", {"new": "W", "withdrawn": "N", "corrected": "C"}) == ["map-misleads"] * 2
    assert table("verdict", {"pass": "0", "fail": "1"}) == ["map-misleads"] * 2
    assert table("verdict", {"pass": "1", "fail": "0"}) == []
    assert table("verdict", {"pass": "A", "fail": "R"}) == []


def test_texts_that_become_one_are_refused_unless_they_are_one_size() -> None:
    assert table("unit_ucum", {"ug/g": "mg/kg", "mg/kg": "mg/kg"}) == []
    for field in ("reported_quantity", "technique", "signature_state", "certificate_kind"):
        one, other = WORDS[field][:2]
        assert table(field, {one: "K10", other: "K10"}) == ["map-merges"]


@pytest.mark.parametrize(("name", "sound"), [("Lead", True), ("Blei [µg/g]", True), ("Cadmium", False),
                                             ("Lead, as received", True), ("Lead mg/g", False)])  # fmt: skip
def test_the_name_of_a_code_of_messages_says_its_element_and_unit(name: str, *, sound: bool) -> None:
    code = Hl7Code("PB-C", name, "L", "Pb", "content", "ug/g")
    hl7 = Hl7("BENCH", "LAB", "WARD", "CLINIC", "T", Hl7Panel("METALS", "Metals", "L"), (code,))
    wanted = Profile("profile", "partner", "Partner", FileForm(kind="hl7_v2"), "keep", hl7=hl7)
    assert [one.code for one in check_profile(wanted)] == ([] if sound else ["profile.title-misleads"])


def test_a_map_on_what_is_a_number_a_date_or_a_name_of_a_person_is_refused() -> None:
    number = Column("R", "revision", form="text", map={"2": "1"})
    day = Column("D", "sampled_at", form="text", map={"2026-11-08": "2026-11-09"})
    assert found(CHANGE, number) == ["map-of-value"]
    assert found(CHANGE, day) == ["map-of-value"]
    assert mapped("analyst_name", Ana="Ben") == ["map-of-name"]


def test_a_listed_spelling_of_a_unit_is_of_its_size() -> None:
    """Every unit against every other: the same only where the exact factor is 1."""
    assert like_a_unit("mmol L⁻¹")
    assert not like_a_unit("blank")
    assert not like_a_unit("A")
    for one in known_units():
        assert unit_spelled(one) == one
        assert like_a_unit(one)
        for other in known_units():
            try:
                same = unit_factor(one, other) == 1
            except ValueError:
                same = False
            assert same_size(one, other) is same, (one, other)


def test_lists_do_not_contradict_themselves() -> None:
    """A text is listed under one sense of a field, and no word of the record is missing from its own."""
    for field, senses in SENSES.items():
        texts = [text for sense in senses for text in sense.texts]
        assert len(texts) == len(set(texts)), (field, sorted({text for text in texts if texts.count(text) > 1}))
        assert texts == [text.casefold().strip() for text in texts]
        assert {
            word for word in WORDS.get(field, ()) if not any(word in one.texts & one.words for one in senses)
        } == set()
    assert {*get_args(DecisionRule)}


@pytest.mark.parametrize("symbol", ANALYTES)
def test_no_element_is_written_as_another(symbol: str) -> None:
    name = ANALYTES[symbol][0]
    assert names_another(symbol, name) == names_another(name, symbol) == ""
    for other, (called, number) in ANALYTES.items():
        if other != symbol:
            assert names_another(symbol, called), called
            assert names_another(symbol, other), other
            assert names_another(symbol, number), number


MISSING: dict[str, str] = {
    "value_number": "<LOD|not detected|zero|10^2|0x10|½|Ⅳ|∞|<|pass|nil|n.d.|trace|1/2|二|x|②",
    "value_text": "<LOD|0|not detected|pass",
    "verdict": "within|not failed|0|OK|green|?",
    "qualifier": "=|LT|exact",
    "unit_ucum": "g|mg/100g|ppm|unit",
    "element_symbol": "Pb|lead|metal",
    "basis": "dry|TM|total",
    "reported_kind": "measured|found|1",
}


@pytest.mark.parametrize(
    ("field", "text"), [(field, text) for field, texts in MISSING.items() for text in texts.split("|")]
)
def test_a_text_for_nothing_that_could_be_something_is_refused(field: str, text: str) -> None:
    unit = "ug/g" if field in {"value_number", "value_text"} else ""
    column = Column("M", field, unit=unit, when_missing="text", missing_text=text)
    assert found(CHANGE, Column("Q", "reported_kind"), column) == ["missing-text-misleads"]


@pytest.mark.parametrize("text", ["none", "n/a", "no value", "-", "NULL", "k.A.", "nicht bestimmt"])
def test_a_text_that_says_nothing_is_sound(text: str) -> None:
    column = Column("M", "value_number", unit="ug/g", when_missing="text", missing_text=text)
    assert found(CHANGE, Column("Q", "qualifier"), column) == []


ALL = Choose()
BESIDE: dict[str, tuple[tuple[Column, ...], Choose, str]] = {
    "fixed basis": ((CHANGE, Column("BASIS", fixed="dry")), ONE, "fixed-misleads"),
    "fixed verdict": ((CHANGE, Column("VERDICT", fixed="pass")), ONE, "fixed-misleads"),
    "fixed verdict under another title": ((CHANGE, Column("OVERALL", fixed="conforms")), ONE, "fixed-misleads"),
    "fixed code under the title of a verdict": ((CHANGE, Column("Conformity", fixed="K7")), ONE, "fixed-misleads"),
    "fixed sign": ((CHANGE, Column("SIGN", fixed="=")), ONE, "fixed-misleads"),
    "fixed change": ((CHANGE, Column("STATUS", fixed="final")), ONE, "fixed-misleads"),
    "fixed unit beside another": ((*VALUE, Column("UNIT", fixed="mg/g")), ONE, "fixed-misleads"),
    "fixed unit under another title": ((*VALUE, Column("IN", fixed="mg/100 g")), ONE, "fixed-misleads"),
    "fixed unit beside a column of units": (
        (*VALUE, Column("U", "unit_ucum"), Column("UNIT", fixed="ug/g")), ONE, "fixed-misleads",
    ),
    "fixed element of many": (
        (CHANGE, Column("E", "element_symbol"), Column("ELEMENT", fixed="Pb")), ALL, "fixed-misleads",
    ),
    "title in another unit": ((CHANGE, Column("mg/g", "value_number", unit="ug/g"), VALUE[2]), ONE, "title-misleads"),
    "title with another unit": (
        (CHANGE, Column("Result [mg/100g]", "value_number", unit="ug/g"), VALUE[2]), ONE, "title-misleads",
    ),
    "title with a unit over any": (
        (CHANGE, Column("Result mg/kg", "value_number"), Column("U", "unit_ucum"), VALUE[2]), ONE, "title-misleads",
    ),
    "title of one element over all": (
        (CHANGE, Column("E", "element_symbol"), Column("lead", "value_number", unit="ug/g"), VALUE[2]), ALL,
        "title-misleads",
    ),
    "title of a flag says the opposite": (
        (CHANGE, Column("PASS", "verdict", form="flag", holds=("fail",), yes="1", no="0")), ONE, "title-misleads",
    ),
    "flag the wrong way": (
        (CHANGE, Column("W", "verdict", form="flag", holds=("fail",), yes="no", no="yes")), ONE, "flag-misleads",
    ),
    "no column of the element": (VALUE, ALL, "element-not-shown"),
    "two methods and no column of the element": (VALUE, Choose(methods=("a", "b")), "element-not-shown"),
}  # fmt: skip


@pytest.mark.parametrize("name", BESIDE)
def test_what_stands_beside_the_fields_and_misleads_is_refused(name: str) -> None:
    columns, choose, code = BESIDE[name]
    assert found(*columns, choose=choose) == [code]


HONEST: dict[str, tuple[tuple[Column, ...], Choose]] = {
    "fixed laboratory": ((CHANGE, Column("LAB", fixed="TQ 1")), ALL),
    "fixed unit of every value": ((*VALUE, Column("UNIT", fixed="mg/kg")), ONE),
    "fixed element of one method": ((*VALUE, Column("ELEMENT", fixed="Pb")), ONE),
    "title with its unit": ((CHANGE, Column("Result (µg/g)", "value_number", unit="ug/g"), VALUE[2]), ONE),
    "verdict left to others": ((CHANGE, Column("VERDICT", fixed="n/a")), ONE),
    "flag named by what it holds": (
        (CHANGE, Column("FAIL", "verdict", form="flag", holds=("fail",), yes="1", no="0")), ONE,
    ),
    "element by its number": ((*VALUE, Column("CAS", "cas_number")), ALL),
}  # fmt: skip


@pytest.mark.parametrize("name", HONEST)
def test_what_stands_beside_the_fields_and_is_true_is_sound(name: str) -> None:
    columns, choose = HONEST[name]
    assert found(*columns, choose=choose) == []


@pytest.mark.parametrize("other", ["memo", "MEMO ", "  Memo", "ＭＥＭＯ"])  # noqa: RUF001
def test_titles_that_a_reader_cannot_tell_apart_are_refused(other: str) -> None:
    columns = (CHANGE, Column("MEMO", "note"), Column(other, "lot_id"))
    assert found(*columns, file=LINES) == found(*columns) == ["title-repeated"]


@pytest.mark.parametrize(
    "form",
    ["DD.MM.YY mm:HH ZZ", "HH:ss:mm ZZ", "ZZ HH:mm", "YYYY-DD-MM", "MM.YYYY.DD", "DD.HH.MM.YYYY ZZ", "YYYYDDMM HH ZZ"],
)
def test_a_date_in_an_order_nobody_reads_is_refused(form: str) -> None:
    assert found(CHANGE, Column("D", "released_at", date_form=form)) == ["date-form"]


ODD_DATES = (
    "DD.MM.19YY|DD.MM.YYYY1|0DD.0MM.YYYY|DD.MM.YYYY HH:mm:ss+00:00 ZZ|DD.MM.YYYY HH:mm -ZZ|=YYYY+MM+DD|@DD.MM.YYYY|"
    "DD\nMM\nYYYY|DD\tMM|DD.MM.\u0662YY|DD.MM.\uff12\uff10YY|-ZZ|+YYYY|'DD.MM.YYYY| DD.MM.YYYY|DD.MM.YYYY |DD--MM|"
    "DD+MM|DD=MM|DD(MM)|DD;MM|DD\u00a0MM|HH:mm ZZ:DD.MM|HH:mm ZZDD.MM|DD.MM.YYYY-ZZ|HH:mm:ZZ|HH:mm 0ZZ|"
    "HH:mm:ssDD.MM.YYYY ZZ|DD.MM.YYYYHH ZZ|DD:MM|HH/mm ZZ|DD.MM.YYYY\u00b2|\u00bdDD|YYYY-MM-DDTHH:mm:ss.000ZZ|"
    "DD.MM.YYYY,|DD.MM.YYYY-|DD, ,MM"
)


@pytest.mark.parametrize("form", ODD_DATES.split("|"))
def test_what_dates_are_not_written_with_is_refused(form: str) -> None:
    assert found(CHANGE, Column("D", "released_at", date_form=form)) == ["date-form"]


USUAL_DATES = (
    "YYYY-MM-DD|YYYYMMDD|DD.MM.YYYY|DD. MM. YYYY|DD/MM/YYYY|MM/DD/YYYY|DD-MM-YYYY|DD MM YYYY|YYYY_MM_DD|MM.YYYY|YY|"
    "YYYY-MM-DDTHH:mm:ssZZ|YYYY-MM-DDTHH:mm:ss,fffZZ|YYYYMMDDTHHmmssZZ|YYYYMMDDHHmmZZ|YYYYMMDD HHmmss ZZ|"
    "DD/MM/YYYY:HH:mm:ss ZZ|DD.MM.YYYY, HH:mm ZZ|DD.MM.YYYY - HH.mm ZZ|YYYY-MM-DD_HH-mm-ss ZZ|HH:mm ZZ, DD.MM.YYYY|"
    "HHmm ZZ|YYYYMMDDHHmmssfffZZ"
)


@pytest.mark.parametrize("form", USUAL_DATES.split("|"))
def test_a_date_as_it_is_usually_written_is_sound(form: str) -> None:
    assert found(CHANGE, Column("D", "released_at", date_form=form)) == []


@pytest.mark.parametrize("form", ["HH:mm ZZ, DD.MM.YYYY", "MM/DD/YY HH:mm:ss.fff ZZ", "YYYY/MM", "DD.MM.", "ZZ"])
def test_a_date_in_an_order_somebody_reads_is_sound(form: str) -> None:
    assert found(CHANGE, Column("D", "released_at", date_form=form)) == []


def test_the_manual_lists_every_text_that_says_something_or_nothing() -> None:
    manual = (Path(__file__).parents[2] / "docs" / "manual" / "profile-words.md").read_text(encoding="utf-8")
    listed = {text.casefold() for text in re.findall("`([^`]+)`", manual)}
    assert sorted(NOTHING - listed) == []
    for field, senses in SENSES.items():
        missing = sorted({text for sense in senses for text in sense.texts if sense.words} - listed)
        assert missing == [], field
    said = [texts for lists in (ALSO, ASKED) for senses in lists.values() for _, _, texts in senses]
    for texts in (*USUAL_TITLES.values(), *said):
        assert sorted({*texts.split("|")} - listed) == []
    assert sorted({*HOURS} - listed) == []


FIXED_TEXTS = (
    "Pass:1|Fail:0|OOS:0|In Spec:1|Status:OK|Conforms:X|Passed:X|Withdrawn:Y|Storno:1|Dry:X|on dry matter:yes|"
    "Below LOQ:X|ND:1|Detected:Y|Signed:yes|Final:Y|x:<|x:less than|x:Final result, compliant|LOD:0.001|is_fail:0"
)


@pytest.mark.parametrize("pair", FIXED_TEXTS.split("|"))
def test_a_fixed_text_that_answers_for_every_row_is_refused(pair: str) -> None:
    title, text = pair.split(":")
    assert found(CHANGE, Column(title, fixed=text), choose=ALL) == ["fixed-misleads"]


@pytest.mark.parametrize("pair", ["LAB:TQ 1", "Country:NO", "Record type:D", "SOURCE:BENCH", "Currency:EUR", "X1:K7"])
def test_a_constant_of_the_file_is_sound(pair: str) -> None:
    title, text = pair.split(":")
    assert found(CHANGE, Column(title, fixed=text), choose=ALL) == []


UNIT_TITLES = (
    "result_ppb|ug_per_kg|Result ug_kg|Result [ng per g]|Result per mille|Wert in Promille|Wert (Prozent)|Result_mg_l"
)


@pytest.mark.parametrize("title", UNIT_TITLES.split("|"))
def test_a_title_with_another_unit_in_words_is_refused(title: str) -> None:
    assert set(found(CHANGE, Column(title, "value_number", unit="ug/g"), VALUE[2])) == {"title-misleads"}


FLAG_TITLES = {
    "verdict:pass": "Failed (Y/N)|Fail flag|is_fail|Above limit|Exceeds limit|Violation|KO|Grenzwertverletzung|FAILYN",
    "reported_kind:below_limit": "Above LOQ|is_measured|Detected|Quantified",
    "change_kind:withdrawn": "is_valid|In force|Active",
}


@pytest.mark.parametrize(
    ("of", "title"), [(of, title) for of, titles in FLAG_TITLES.items() for title in titles.split("|")]
)
def test_a_flag_under_a_title_of_its_opposite_is_refused(of: str, title: str) -> None:
    field, word = of.split(":")
    column = Column(title, field, form="flag", holds=(word,), yes="Y", no="N")
    assert found(CHANGE, column) == ["title-misleads"]


@pytest.mark.parametrize(
    "title", ["Hg_total", "Arsenic result", "Blei gesamt", "Lead (Pb)", "PB", "LOD", "Upper limit"]
)
def test_a_value_under_a_title_of_another_thing_is_refused(title: str) -> None:
    columns = (CHANGE, Column("E", "element_symbol"), Column(title, "value_number", unit="ug/g"), VALUE[2])
    assert found(*columns, choose=ALL) == ["title-misleads"]


@pytest.mark.parametrize(
    "name", ["Lead, dry", "Lead ppb", "Lead dissolved", "Pb as PbO", "Lead oxide", "Blei (Trockenmasse)"]
)
def test_a_name_of_a_code_that_says_another_thing_is_refused(name: str) -> None:
    code = Hl7Code("PB-C", name, "L", "Pb", "content", "ug/g")
    hl7 = Hl7("BENCH", "LAB", "WARD", "CLINIC", "T", Hl7Panel("METALS", "Metals", "L"), (code,))
    wanted = Profile("profile", "partner", "Partner", FileForm(kind="hl7_v2"), "keep", hl7=hl7)
    assert {one.code for one in check_profile(wanted)} == {"profile.title-misleads"}
