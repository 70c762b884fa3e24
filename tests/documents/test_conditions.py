"""What each technique needs on record: the shipped methods have it; one change for each rule that must refuse it."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.documents.rules_conditions import HYDRIDES, LANTHANIDES, NEEDED, REFRACTORY, condition_faults
from benchseal.records.elements import ELEMENT_NAMES
from benchseal.records.method import Conditions, Method
from benchseal.shipped import starter

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.documents.judge import Fault


def _method(name: str) -> Method:
    found = read_document(starter(f"methods/{name}.yaml").encode(), name)
    assert isinstance(found, ControlledDocument), found
    assert isinstance(found.value, Method)
    return found.value


GOOD = {
    "flame": _method("zinc-flame"),
    "furnace": _method("lead-furnace"),
    "cold_vapour": _method("mercury-cold-vapour"),
    "hydride": _method("arsenic-hydride"),
}
NITROUS = replace(
    GOOD["flame"],
    element="Al",
    conditions=replace(GOOD["flame"].conditions, flame="nitrous_oxide_acetylene", ionisation_buffer="0.1 % potassium"),
)


def _changed(method: Method, changes: Mapping[str, object]) -> Method:
    """A method with some of its own fields, and some of its conditions, changed."""
    own = {field.name for field in fields(Conditions)}
    conditions = {name: value for name, value in changes.items() if name in own}
    others = {name: value for name, value in changes.items() if name not in own}
    return replace(method, conditions=replace(method.conditions, **conditions), **others)  # type: ignore[arg-type]


def _faults(method: Method, changes: Mapping[str, object]) -> list[Fault]:
    return list(condition_faults(_changed(method, changes)))


def _said(method: Method, changes: Mapping[str, object]) -> list[tuple[str, object]]:
    return [(fault.code.removeprefix("documents.method-"), fault.path[-1]) for fault in _faults(method, changes)]


@pytest.mark.parametrize("technique", GOOD)
def test_the_shipped_methods_say_what_is_needed(technique: str) -> None:
    assert GOOD[technique].technique == technique
    assert _said(GOOD[technique], {}) == []


def test_the_nitrous_oxide_flame_is_known_too() -> None:
    assert _said(NITROUS, {}) == []


_NEEDED_TOO = {"furnace": ("largest_background",)}


@pytest.mark.parametrize(
    ("technique", "name"),
    [
        (technique, name)
        for technique, names in NEEDED.items()
        for name in (*names, "signal_form", *_NEEDED_TOO.get(technique, ()))
    ],
)
def test_what_a_technique_needs_must_be_said(technique: str, name: str) -> None:
    changes = {name: "", "background_source": ""} if name == "largest_background" else {name: ""}
    found = _faults(GOOD[technique], changes)
    assert [(fault.code, fault.path) for fault in found] == [
        ("documents.method-condition-missing", ("conditions", name))
    ]
    assert name in found[0].what


@pytest.mark.parametrize("name", ["releasing_agent", "ionisation_buffer", "modifier", "burner", "reductant"])
def test_none_is_an_answer(name: str) -> None:
    method = next(one for technique, one in GOOD.items() if name in NEEDED[technique])
    assert _said(method, {name: "none"}) == []
    assert _said(method, {name: "  "}) == [("condition-missing", name)], "blanks are none"


@pytest.mark.parametrize(
    ("technique", "name"),
    [
        (technique, name)
        for technique, own in NEEDED.items()
        for names in NEEDED.values()
        for name in names
        if name not in own
    ],
)
def test_a_condition_of_another_technique_must_be_empty(technique: str, name: str) -> None:
    values = {"flame": "air_acetylene", "stoichiometry": "lean", "injection_ul": "20"}
    found = _said(GOOD[technique], {name: values.get(name, "something")})
    assert found == [("condition-foreign", name)]


_DEFECTS: dict[str, tuple[str, dict[str, object], str, str]] = {
    "slit not stated": ("flame", {"slit_nm": ""}, "slit", "slit_nm"),
    "slit of zero": ("furnace", {"slit_nm": "0.0"}, "slit", "slit_nm"),
    "background correction not stated": (
        "flame",
        {"background_correction": ""},
        "condition-missing",
        "background_correction",
    ),
    "uncorrected without a reason": ("hydride", {"uncorrected_because": " "}, "uncorrected", "uncorrected_because"),
    "corrected with a reason why not": (
        "flame",
        {"uncorrected_because": "clean"},
        "uncorrected",
        "uncorrected_because",
    ),
    "none in another word": ("flame", {"background_correction": "off"}, "uncorrected", "background_correction"),
    "None with a capital": ("flame", {"background_correction": "None"}, "uncorrected", "background_correction"),
    "height in the furnace": ("furnace", {"signal_form": "peak_height"}, "signal-form", "signal_form"),
    "furnace read in A": ("furnace", {"signal_unit": "A"}, "signal-form", "signal_form"),
    "area in a flame": ("flame", {"signal_form": "integrated"}, "signal-form", "signal_form"),
    "flame read in A.s": ("flame", {"signal_unit": "A.s"}, "signal-form", "signal_form"),
    "continuous cold vapour": ("cold_vapour", {"signal_form": "continuous"}, "signal-form", "signal_form"),
    "area of cold vapour in A": ("cold_vapour", {"signal_form": "integrated"}, "signal-form", "signal_form"),
    "cold vapour of lead": ("cold_vapour", {"element": "Pb"}, "element-technique", "element"),
    "hydride of mercury": ("hydride", {"element": "Hg"}, "element-technique", "element"),
    "hydride of zinc": ("hydride", {"element": "Zn"}, "element-technique", "element"),
    "aluminium in air and acetylene": ("flame", {"element": "Al"}, "flame-refractory", "flame"),
    "lanthanide in air and acetylene": ("flame", {"element": "Nd"}, "flame-refractory", "flame"),
    "selenium with iodide": ("hydride", {"element": "Se"}, "pre-reduction", "pre_reduction"),
    "selenium with KI": (
        "hydride",
        {"element": "Se", "pre_reduction": "KI, ascorbic acid"},
        "pre-reduction",
        "pre_reduction",
    ),
    "selenium as it is": ("hydride", {"element": "Se", "pre_reduction": "none"}, "pre-reduction", "pre_reduction"),
    "arsenic as it is": ("hydride", {"pre_reduction": "none"}, "pre-reduction", "pre_reduction"),
    "antimony as it is": ("hydride", {"element": "Sb", "pre_reduction": "None"}, "pre-reduction", "pre_reduction"),
    "acid without percent": ("flame", {"acid_percent": ""}, "acid", "acid_percent"),
    "percent without acid": ("flame", {"acid": ""}, "acid", "acid"),
    "more acid than all": ("flame", {"acid_percent": "100.1"}, "acid", "acid_percent"),
    "nothing injected": ("furnace", {"injection_ul": "0"}, "injection", "injection_ul"),
    "background limit without source": (
        "furnace",
        {"background_source": ""},
        "background-limit",
        "background_source",
    ),
    "source without background limit": (
        "flame",
        {"background_source": "house limit"},
        "background-limit",
        "largest_background",
    ),
    "background limit of zero": ("furnace", {"largest_background": "0"}, "background-limit", "largest_background"),
}


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_rule_refuses(defect: str) -> None:
    technique, changes, code, name = _DEFECTS[defect]
    assert _said(GOOD[technique], changes) == [(code, name)]


_HARMLESS: dict[str, tuple[Method, dict[str, object]]] = {
    "acid not on record": (GOOD["flame"], {"acid": "", "acid_percent": ""}),
    "all acid": (GOOD["flame"], {"acid_percent": "100"}),
    "area of cold vapour in A.s": (GOOD["cold_vapour"], {"signal_form": "integrated", "signal_unit": "A.s"}),
    "hydride that flows": (GOOD["hydride"], {"signal_form": "continuous"}),
    "concentrations of the instrument": (
        GOOD["furnace"],
        {"signal_is": "instrument_concentration", "signal_unit": "ug/L"},
    ),
    "uncorrected furnace with its reason": (
        GOOD["furnace"],
        {
            "background_correction": "none",
            "uncorrected_because": "nothing but acid is injected",
            "largest_background": "",
            "background_source": "",
        },
    ),
    "background judged elsewhere too": (GOOD["flame"], {"largest_background": "1.0", "background_source": "house"}),
    "selenium with hot acid": (GOOD["hydride"], {"element": "Se", "pre_reduction": "hot hydrochloric acid"}),
    "arsenic(III) only": (GOOD["hydride"], {"pre_reduction": "none needed: the digest holds arsenic(III) only"}),
    "bismuth as it is": (GOOD["hydride"], {"element": "Bi", "pre_reduction": "none"}),
    "nitrous oxide without a buffer": (NITROUS, {"ionisation_buffer": "none"}),
    "zinc in the nitrous oxide flame": (NITROUS, {"element": "Zn"}),
}


@pytest.mark.parametrize("case", _HARMLESS)
def test_harmless(case: str) -> None:
    assert _said(*_HARMLESS[case]) == []


def test_the_nitrous_oxide_flame_says_why_it_asks_for_a_buffer() -> None:
    (fault,) = _faults(NITROUS, {"ionisation_buffer": ""})
    assert fault.what.startswith("The nitrous oxide flame is hot enough to ionise many elements")


@pytest.mark.parametrize("element", sorted(ELEMENT_NAMES))
def test_refractory_elements_and_no_others_are_kept_out_of_air_and_acetylene(element: str) -> None:
    refused = bool(_said(GOOD["flame"], {"element": element}))
    assert refused == (element in {*REFRACTORY})


def test_the_lists_are_lists_of_elements() -> None:
    """Fourteen lanthanides from lanthanum to lutetium without promethium, which has no stable isotope."""
    assert len(LANTHANIDES) == len(set(LANTHANIDES)) == 14
    assert len(REFRACTORY) == len(set(REFRACTORY))
    assert not set(REFRACTORY) & set(HYDRIDES)
    common_air_acetylene = {
        "Ag",
        "Au",
        "Bi",
        "Ca",
        "Cd",
        "Co",
        "Cr",
        "Cu",
        "Fe",
        "K",
        "Li",
        "Mg",
        "Mn",
        "Na",
        "Ni",
        "Pb",
        "Zn",
    }
    assert not set(REFRACTORY) & common_air_acetylene


def test_a_document_is_told_at_its_line() -> None:
    text = starter("methods/lead-furnace.yaml")
    wrong = text.replace("  modifier: ammonium dihydrogen phosphate\n", "  modifier: ''\n")
    found = read_document(wrong.encode(), "m.yaml")
    assert isinstance(found, tuple)
    line = wrong[: wrong.index("  modifier: ''")].count("\n") + 1
    assert [(one.code, one.where) for one in found] == [
        ("documents.method-condition-missing", f"m.yaml, line {line}, column 13")
    ]


def test_a_method_without_conditions_hears_everything_at_once() -> None:
    text = starter("methods/zinc-flame.yaml")
    begins, ends = text.index("conditions:\n"), text.index("standards:\n")
    found = read_document((text[:begins] + text[ends:]).encode(), "m.yaml")
    assert isinstance(found, tuple)
    assert [one.code for one in found] == ["documents.method-condition-missing"] * 6


_TEXTS = st.sampled_from(["", " ", "none", "KI", "0.5 % lanthanum", "\u00e4" * 200])


@given(
    st.sampled_from(sorted(GOOD)),
    st.builds(
        Conditions,
        flame=st.sampled_from(["", "air_acetylene", "nitrous_oxide_acetylene"]),
        signal_form=st.sampled_from(["", "continuous", "peak_height", "integrated"]),
        injection_ul=st.sampled_from(["", "0", "20"]),
        acid_percent=st.sampled_from(["", "0", "100.0", "101"]),
        largest_background=st.sampled_from(["", "0", "1.0"]),
        modifier=_TEXTS,
        reductant=_TEXTS,
        pre_reduction=_TEXTS,
        acid=_TEXTS,
        releasing_agent=_TEXTS,
        ionisation_buffer=_TEXTS,
        background_source=_TEXTS,
    ),
    st.sampled_from(sorted(ELEMENT_NAMES)),
)
def test_any_conditions_give_faults_in_words(technique: str, conditions: Conditions, element: str) -> None:
    for fault in condition_faults(replace(GOOD[technique], conditions=conditions, element=element)):
        assert fault.code.startswith("documents.method-")
        assert fault.what.endswith(".")
        assert fault.remedy.endswith(".")
