"""Units in any usual spelling: of exact size, found in headers, asked for where they are not known."""

from __future__ import annotations

from fractions import Fraction

import pytest

from benchseal.records.layout import Column
from benchseal.records.quantities import known_units, unit_factor
from benchseal.records.unit_sizes import size_of
from benchseal.records.unit_spellings import contradicts, unit_meant, unit_of


def unit(header: str, **words: str) -> str:
    return unit_of(Column(header, "nominal"), words)


def test_every_unit_of_the_program_is_read_as_large_as_it_is() -> None:
    units = [each for each in known_units() if len(each) > 1 or each == "%"]
    sizes = {each: size_of(each) for each in units}
    for one in units:
        for other in units:
            a, b = sizes[one], sizes[other]
            assert a is not None
            assert b is not None
            if a.kind == b.kind:
                assert unit_factor(one, other) == a.factor / b.factor, (one, other)
            else:
                with pytest.raises(ValueError, match="cannot be turned"):
                    unit_factor(one, other)


SPELLINGS = {
    "mg/L": "mg/l|MG/L|mg / L|mg per L|mg L-1|mg L⁻¹|mg\u00b7L⁻¹|mg.l^-1|mg l**-1|mg L\u22121|[mg/L]|(mg L-1)|mg/dm3"
    "|mg/dm³|mg dm-3|g/m3|ppm|mg/litre",
    "ug/L": "µg/L|\u03bcg/l|mcg/L|µg L⁻¹|ug.L-1|ppb|pg/µL|㎍/L|µg/dm^3",
    "ng/L": "ng L-1|ppt|pg/ml",
    "ug/dL": "µg/100 mL|ug/100ml|µg/dl|ug/0.1 L",
    "mA": "mAU|mAbs|MA|[mA]|mau",
    "A": "Abs|AU|a|abs",
    "A.s": "A s|A\u00b7s|Abs s|Abs-s|A sec",
    "mg/kg": "mg kg⁻¹|mg / kg|ug/g",
    "%": "%|g/100 g|percent",
}


@pytest.mark.parametrize(
    ("code", "text"), [(code, text) for code, texts in SPELLINGS.items() for text in texts.split("|")]
)
def test_each_spelling_is_its_unit(code: str, text: str) -> None:
    meant = unit_meant(text)
    assert size_of(meant) == size_of(code)
    assert meant == code or unit_factor(meant, code) == Fraction(1)


@pytest.mark.parametrize("text", ["mM/kg", "IU/L", "mg/0 L", "m", "nm", "mg L", "mg/L/h", "Pb/L", "3", "blank", ""])
def test_what_is_no_unit_known_is_none(text: str) -> None:
    assert size_of(text) is None


@pytest.mark.parametrize(
    ("header", "due"),
    [
        ("Set to ppb", "ug/L"), ("Set to [ppb]", "ug/L"), ("Set to (µg/100 mL)", "ug/dL"), ("Set to [µg L⁻¹]", "ug/L"),
        ("1st mA", "mA"), ("Abs [mAU]", "mA"), ("Std ppm", "mg/L"), ("Std. (mcg/L)", "ug/L"), ("Conc (pg/µL)", "ug/L"),
        ("Conc µg/L Std", "ug/L"), ("Conc. [µmol/L]", "umol/L"), ("c/(µg/L)", "ug/L"), ("Conc/ppb", "ug/L"),
        ("A/mAU", "mA"), ("Conc. [µg/L", "ug/L"), ("Area A\u00b7s", "A.s"), ("Signal %", "%"), ("Std ng", "ng"),
        ("Std (3) [µg/l]", "ug/L"), ("Conc (mg/L) [ppb]", "mg/L and ug/L"), ("Conc mM", "mM"),
    ],
)  # fmt: skip
def test_a_unit_is_found_wherever_a_header_has_it(header: str, due: str) -> None:
    assert unit(header) == due


@pytest.mark.parametrize(
    "header",
    ["Abs (3)", "Conc [1]", "Std (blank)", "Std (mixed)", "Abs 1", "Signal A", "Std Mg", "Std (Mg)", "Reading(s)",
     "Std (n=3)", "Reading (w/o bg)", "Abs Pb 283.3 nm", "Abs / A", "Abs (rep-1)", "Run-1", "As", "Given", "100%"],
)  # fmt: skip
def test_an_honest_header_has_no_unit(header: str) -> None:
    assert unit(header) == ""
    assert unit_of(Column("Abs (As)", "signal", element="As"), {}) == ""


@pytest.mark.parametrize(
    ("header", "text"),
    [("Conc (IU/L)", "IU/L"), ("Conc (mg Pb/L)", "mg Pb/L"), ("Conc Pb/L", "Pb/L"), ("Abs (mV)", "mV"),
     ("Signal counts", "counts"), ("Std [gr/gal]", "gr/gal"), ("Std (meq L-1)", "meq L-1"), ("Set (%w)", "%w")],
)  # fmt: skip
def test_what_looks_like_a_unit_is_asked_for(header: str, text: str) -> None:
    assert unit(header) == text, "as it stands, which is no unit of any method"
    assert unit(header, **{text: "mg/L"}) == "mg/L", "the layout says it"


def test_no_word_makes_another_unit_of_one_that_is_known() -> None:
    assert unit("Set to [ppb]", ppb="mg/L") == "ug/L"
    assert unit("Std [Ext]", Ext="A") == ""
    assert contradicts("mA", "A")
    assert contradicts("%", "A")
    assert contradicts("A", "A.s")
    assert not contradicts("µg/L", "ug/L")
    assert not contradicts("Abs", "A.s"), "it names the area too"
    assert not contradicts("As", "A"), "arsenic"
    assert not contradicts("Ext", "A")
