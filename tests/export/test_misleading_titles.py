"""Titles, and names and codes of messages, that say something else than what stands below them; and honest ones."""

from __future__ import annotations

import pytest

from benchseal.export.profiles import check_profile
from benchseal.export.senses import SENSES
from benchseal.records.profile import Choose, Column, FileForm, Hl7, Hl7Code, Hl7Panel, Profile

FILE = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
BEGUN = (Column("Changed", "change_kind"), Column("E", "element_symbol"), Column("Q", "qualifier"))
MISLEADS = ["title-misleads"]


def found(*columns: Column, choose: Choose | None = None) -> list[str]:
    profile = Profile("profile", "partner", "Partner", FILE, "keep", (*BEGUN, *columns), choose or Choose())
    return [problem.code.removeprefix("profile.") for problem in check_profile(profile)]


def titled(title: str, field: str = "value_number") -> list[str]:
    return sorted({*found(Column(title, field, unit="ug/g"))})


BASES = sorted({text for one in SENSES["basis"] for text in one.texts if len(text) > 1} - {"total"})


@pytest.mark.parametrize("way", ["Value {}", "Value ({})", "value_{}", "{} result", "Result, {}"])
def test_every_listed_word_of_a_basis_in_the_title_of_a_value_is_refused(way: str) -> None:
    """All but total, which says what was digested or summed too."""
    assert [text for text in BASES if titled(way.format(text)) != MISLEADS] == []
    assert [text for text in BASES if titled(way.format(text.upper()), "expanded_uncertainty") != MISLEADS] == []


@pytest.mark.parametrize("title", ["ValueDM", "mg_TS", "Wert i. TM", "Value D.M.", "Result w/w", "Max (DS)"])
def test_a_basis_in_a_few_letters_is_refused(title: str) -> None:
    assert titled(title, "spec_high") == MISLEADS


@pytest.mark.parametrize(
    ("title", "unit"),
    [("Result % (w/w)", "%"), ("Result (% w/w)", "%"), ("%w/w", "%"), ("ppm (w/w)", "ug/g"), ("Value total", "ug/g"),
     ("Release ug/dm2", "ug/dm2"), ("Release (µg/dm²)", "ug/dm2"), ("ug_per_dm2", "ug/dm2"), ("Result µg/g", "ug/g"),
     ("Value 1", "ug/g"), ("Result (per 100 g)", ""), ("Messwert", "ug/g"), ("Mittelwert", "ug/g"), ("VAL_NUM", "ug/g"),
     ("Result mg/100 g", ""), ("Result 10", "ug/g"), ("Value E1", "ug/g"), ("Catalogue value", "ug/g")],
)  # fmt: skip
def test_a_title_of_a_value_that_names_its_unit_or_nothing_is_sound(title: str, unit: str) -> None:
    wanted = (Column(title, "value_number", unit=unit), Column("Unit", "unit_ucum")) if not unit else (
        Column(title, "value_number", unit=unit),)  # fmt: skip
    assert [code for code in found(*wanted) if code != "title-misleads" or unit] == []


NEVER = (
    "Value x1000|Value x 1000|Value/10|Value ×10|Value e-3|Value 1e3|Value 10^3|Value 10⁻³|Result *100|log value|"  # noqa: RUF001
    "Log10 result|Result (log)|Value preliminary|preliminary_value|Draft result|DraftValue|Value, not reviewed|"
    "Vorläufiger Wert|Wert (Entwurf)|Value dissolved|Value filtered|Lead_soluble|gelöst|Result in thousands"
)


@pytest.mark.parametrize("title", NEVER.split("|"))
def test_a_title_that_is_true_of_no_released_value_is_refused(title: str) -> None:
    assert "title-misleads" in titled(title)


def test_a_fraction_is_its_methods() -> None:
    column = Column("Value dissolved", "value_number", unit="ug/g")
    assert found(column, choose=Choose(methods=("lead-dissolved",))) == []
    assert found(column, choose=Choose(methods=("lead-dissolved", "lead-total"))) == MISLEADS


@pytest.mark.parametrize("title", ["u (k=1)", "U (k = 3)", "U k2", "Uncertainty, k=2.0", "U(k=1.96)"])
def test_a_coverage_factor_in_a_title_that_no_column_shows_is_refused(title: str) -> None:
    assert titled(title, "expanded_uncertainty") == MISLEADS


def test_the_usual_coverage_factor_may_stand_where_that_of_each_row_does() -> None:
    shown = Column("k", "coverage_factor")
    assert found(Column("U (k=2)", "expanded_uncertainty", unit="ug/g"), shown) == []
    assert found(Column("u (k=1)", "expanded_uncertainty", unit="ug/g"), shown) == MISLEADS


OTHERS = {
    "detection_limit": "BG|LQ|BG [µg/g]",
    "quantitation_limit": "NWG|Nachweisgrenze (NWG)",
    "specification_version": "Method version",
    "certificate_no": "Replaces certificate|Previous certificate no",
    "received_at": "Expiry date|Best before|Verfallsdatum|Date of manufacture",
    "cas_number": "Atomic number|EINECS|Ordnungszahl",
    "expanded_uncertainty": "Multiplier|Scale factor",
    "value_number": "Unrounded value",
    "value_unrounded": "Rounded result",
    "spec_low": "Factor",
}


@pytest.mark.parametrize(("field", "title"), [(of, title) for of, all_ in OTHERS.items() for title in all_.split("|")])
def test_a_title_usual_for_another_field_or_for_none_is_refused(field: str, title: str) -> None:
    assert "title-misleads" in found(Column("Unit", "unit_ucum"), Column(title, field))


@pytest.mark.parametrize("title", ["Multiplier", "Scale factor", "Exponent", "Expiry date", "Zehnerpotenz", "Factor"])
def test_a_fixed_text_that_changes_what_a_value_says_is_refused(title: str) -> None:
    assert found(Column(title, fixed="1000")) == ["fixed-misleads"]


ASKED = {
    "verdict:pass": "To block|Hold|Sperren|on_hold|Quarantine|Gesperrt|Stop|Do not use|Bloquer|HoldFlag",
    "verdict:fail": "Release|To ship|Freigeben|Zur Freigabe|Use",
    "change_kind:withdrawn": "Keep|Load|Import|Behalten|to_load",
    "change_kind:new": "Remove|Drop|Ignore|Löschen|Do not load",
}


@pytest.mark.parametrize(("of", "title"), [(of, title) for of, all_ in ASKED.items() for title in all_.split("|")])
def test_a_flag_that_asks_for_the_opposite_is_refused(of: str, title: str) -> None:
    field, word = of.split(":")
    assert found(Column(title, field, form="flag", holds=(word,), yes="1", no="0")) == MISLEADS


@pytest.mark.parametrize(
    ("title", "field", "holds"),
    [("Hold", "verdict", ("fail", "conditional_fail", "inconclusive")), ("Release", "verdict", ("pass",)),
     ("Not released", "verdict", ("fail",)), ("Drop", "change_kind", ("withdrawn",)),
     ("Load", "change_kind", ("new", "corrected")), ("To block", "verdict", ("fail",))],
)  # fmt: skip
def test_a_flag_that_asks_for_what_it_holds_is_sound(title: str, field: str, holds: tuple[str, ...]) -> None:
    assert found(Column(title, field, form="flag", holds=holds, yes="1", no="0")) == []


@pytest.mark.parametrize("title", ["Load", "Hold", "Block", "DB", "OS", "LIMS DB", "Release", "Store"])
def test_a_word_of_an_act_or_a_machine_over_a_fixed_text_is_free(title: str) -> None:
    whole = title in {"DB", "OS"}  # refused as a basis already
    assert found(Column(title, fixed="TQ-17")) == (["fixed-misleads"] if whole else [])


@pytest.mark.parametrize(
    ("title", "form", "zone"),
    [("released DD.MM.YYYY", "MM.DD.YYYY", "UTC"), ("released (dd/mm/yyyy)", "MM/DD/YYYY", "UTC"),
     ("Freigabe TT.MM.JJJJ", "MM.DD.YYYY", "UTC"), ("date JJ/MM/AAAA", "MM/DD/YYYY", "UTC"),
     ("released DD.MM.YY", "DD.MM.YYYY", "UTC"), ("released YYYYMMDD", "DDMMYYYY", "UTC"),
     ("released DD.MM.YYYY", "", "UTC"), ("YYYY-MM-DD", "YYYY-MM", "UTC"),
     ("released (UTC)", "YYYY-MM-DD", "Pacific/Kiritimati"), ("released UTC", "YYYY-MM-DD HH:mm ZZ", "Europe/Berlin"),
     ("released GMT", "YYYY-MM-DD HH:mm ZZ", "Europe/London"), ("released_utc", "YYYY-MM-DD", "Asia/Tokyo"),
     ("released CET", "YYYY-MM-DD HH:mm ZZ", "UTC"), ("Freigabe (MEZ)", "", "UTC"),
     ("released UTC+2", "YYYY-MM-DD HH:mm ZZ", "UTC"), ("released Asia/Tokyo", "YYYY-MM-DD", "Europe/Berlin")],
)  # fmt: skip
def test_a_title_that_spells_another_date_or_zone_is_refused(title: str, form: str, zone: str) -> None:
    assert found(Column(title, "released_at", date_form=form, zone=zone)) == MISLEADS


@pytest.mark.parametrize(
    ("title", "form", "zone"),
    [("released DD.MM.YYYY", "DD.MM.YYYY", "UTC"), ("released (dd/mm/yyyy)", "DD/MM/YYYY", "UTC"),
     ("Freigabe TT.MM.JJJJ", "DD.MM.YYYY", "Europe/Berlin"), ("date JJ/MM/AAAA", "DD/MM/YYYY", "UTC"),
     ("released YYYY-MM-DD", "", "UTC"), ("released (UTC)", "", "UTC"), ("released UTC", "YYYY-MM-DD", "Etc/UTC"),
     ("released YYYY-MM-DDTHH:mm:ssZZ", "YYYY-MM-DDTHH:mm:ssZZ", "UTC"),
     ("HH:mm DD.MM.YYYY", "HH:mm ZZ, DD.MM.YYYY", "UTC"), ("YYYYMMDDHHmmss", "YYYYMMDDHHmmssZZ", "UTC"),
     ("released CET", "YYYY-MM-DD HH:mm ZZ", "Europe/Berlin"), ("est le", "YYYY-MM-DD", "Europe/Paris"),
     ("released Europe/Berlin", "YYYY-MM-DD", "Europe/Berlin"), ("released UTC+9", "YYYY-MM-DD", "Asia/Tokyo")],
)  # fmt: skip
def test_a_title_that_spells_its_own_date_and_zone_is_sound(title: str, form: str, zone: str) -> None:
    assert found(Column(title, "released_at", date_form=form, zone=zone)) == []


def coded(code: str, name: str, element: str = "Pb", **other: str) -> list[str]:
    one = Hl7Code(code, name, "L", element, "content", "ug/g", **other)  # type: ignore[arg-type]  # words of a table
    hl7 = Hl7("BENCH", "LAB", "WARD", "CLINIC", "T", Hl7Panel("METALS", "Metals", "L"), (one,))
    wanted = Profile("profile", "partner", "Partner", FileForm(kind="hl7_v2"), "keep", hl7=hl7)
    return [one.code.removeprefix("profile.") for one in check_profile(wanted)]


@pytest.mark.parametrize("name", ["Lead DM", "Lead TS", "Lead (dw)", "Lead x1000", "Lead filtered", "Lead draft"])
def test_a_name_of_a_code_with_another_basis_fraction_or_scale_is_refused(name: str) -> None:
    assert coded("PB-C", name) == MISLEADS
    assert coded("PB-C", "Lead AR", basis="dry") == MISLEADS
    assert coded("PB-C", "Lead total", fraction="dissolved") == MISLEADS


def test_a_name_of_a_code_with_its_own_basis_fraction_and_bound_is_sound() -> None:
    assert coded("PB-C", "Lead DM", basis="dry") == coded("PB-C", "Lead AR") == coded("PB-C", "Lead total") == []
    assert coded("PB-C", "Lead filtered", fraction="dissolved") == []
    assert coded("S", "Lead and cadmium, UB", "Cd Pb", sum_bound="upper_bound") == []
    assert coded("S", "Total lead and cadmium", "Cd Pb", sum_bound="upper_bound", fraction="dissolved") == []


@pytest.mark.parametrize("bound", ["lower bound", "lower_bound", "LB", "lower", "Untergrenze", "medium bound"])
def test_a_name_of_a_sum_with_another_bound_is_refused(bound: str) -> None:
    assert coded("S", f"Lead and cadmium, {bound}", "Cd Pb", sum_bound="upper_bound") == MISLEADS


@pytest.mark.parametrize("code", ["CADMIUM", "cadmium-1", "BLEI-CADMIUM", "KUPFER", "TOT_ARSEN", "CD", "HG"])
def test_a_code_that_names_another_element_is_refused(code: str) -> None:
    assert coded(code, "Lead") == MISLEADS


@pytest.mark.parametrize("code", ["LEAD", "BLEI-1", "PB", "M-17", "CU-01", "12345", "TOX"])
def test_a_code_that_names_its_own_element_or_none_is_sound(code: str) -> None:
    assert coded(code, "Lead") == []
