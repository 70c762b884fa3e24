# ruff: noqa: RUF001  true dashes and signs are what is printed

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest
from tests.certificate.demo_views import LEAD_ROW, LONG, LOZENGE, WARE

from benchseal.certificate.complete import printable, shipped_characters, view_problems
from benchseal.certificate.language import ENGLISH
from benchseal.certificate.view import CertificateView, Relation, standing_cautions

# Fields that may be empty on a certificate; every other text of the view is mandatory (17025, 7.8).
OPTIONAL = {
    "item.condition",
    "item.grade",
    "item.manufacturer",
    "item.sampled_on",
    "item.expiry",
    "item.retest",
    "item.first_certificate",
    "results.expanded",
    "results.coverage",
    "results.detail",
    "relation",
    "changes",
    "in_part",
    "simplified",
    "opinions",
    "external",
    "notes",
    "unsealed_mark",
    "uncorrected",
    # judged with the sentences that must be in it
    "limits_and_cautions",
    # a word of a closed list, not text
    "results.verdict_kind",
    "conformity.verdict_kind",
    "words",  # no text of its own
    "accreditation",
    "foot",
    "logo",
    # checked where the picture is made
    "runs.calibration",
}
INSIDE = ("laboratory", "customer", "item", "conformity", "provenance")
LISTS = ("results", "runs", "signatures")


def mandatory() -> list[str]:
    paths = [field.name for field in fields(CertificateView) if field.name not in INSIDE]
    for name in INSIDE:
        paths += [f"{name}.{field.name}" for field in fields(getattr(LOZENGE, name))]
    for name in LISTS:
        paths += [f"{name}.{field.name}" for field in fields(getattr(LOZENGE, name)[0])]
    return [path for path in paths if path not in OPTIONAL]


def emptied(path: str) -> CertificateView:
    head, _, rest = path.partition(".")
    value: Any = getattr(LOZENGE, head)
    change: dict[str, Any]
    if not rest:
        change = {head: () if isinstance(value, tuple) else " "}
        return replace(LOZENGE, **change)
    first = value[0] if isinstance(value, tuple) else value
    blank: Any = () if isinstance(getattr(first, rest), tuple) else ""
    changed = replace(first, **{rest: blank})
    change = {head: (changed, *value[1:]) if isinstance(value, tuple) else changed}
    return replace(LOZENGE, **change)


@pytest.mark.refuses("17025 7.8.2.1", "17025 7.8.2.2")
@pytest.mark.parametrize("path", mandatory())
def test_each_mandatory_field_is_missed(path: str) -> None:
    (problem,) = view_problems(emptied(path))
    assert problem.code == "certificate.field-empty"
    head, _, rest = path.partition(".")
    assert problem.where in (path, f"{head} 1, {rest}")


@pytest.mark.clause("17025 7.8.2.1", "A11 15")
@pytest.mark.parametrize("view", [LOZENGE, WARE, LONG], ids=["lozenge", "ware", "long"])
def test_whole_certificates_pass(view: CertificateView) -> None:
    assert view_problems(view) == ()


def test_optional_fields_may_be_empty() -> None:
    item = replace(LOZENGE.item, condition="", grade="", manufacturer="", sampled_on="", expiry="")
    assert view_problems(replace(LOZENGE, item=item)) == ()


@pytest.mark.refuses("A11 15", "17025 7.8.2.1")
@pytest.mark.parametrize("sentence", standing_cautions(ENGLISH))
def test_no_standing_caution_may_be_left_out(sentence: str) -> None:
    left = tuple(line for line in LOZENGE.limits_and_cautions if line != sentence)
    (problem,) = view_problems(replace(LOZENGE, limits_and_cautions=left))
    assert problem.code == "certificate.caution-missing"
    assert sentence in problem.what


@pytest.mark.refuses("17025 7.8.3")
def test_an_uncertainty_needs_its_coverage_factor() -> None:
    view = replace(LOZENGE, results=(replace(LEAD_ROW, coverage=""),))
    assert [problem.code for problem in view_problems(view)] == ["certificate.coverage-missing"]


@pytest.mark.parametrize(
    ("relation", "code"),
    [
        pytest.param(Relation("Replaces an earlier one.", "TQ-1"), "certificate.relation-unnamed", id="not named"),
        pytest.param(Relation("", "TQ-1"), "certificate.field-empty", id="no reason"),
    ],
)
def test_an_amendment_names_the_certificate_it_replaces(relation: Relation, code: str) -> None:
    assert code in {problem.code for problem in view_problems(replace(LOZENGE, relation=relation))}


def test_all_problems_are_said_at_once() -> None:
    view = replace(LOZENGE, number="", deviations="", customer=replace(LOZENGE.customer, name="日本"))
    problems = view_problems(view)
    assert len(problems) == 3
    assert "U+65E5 (CJK UNIFIED IDEOGRAPH-65E5), U+672C (CJK UNIFIED IDEOGRAPH-672C), which" in problems[-1].what


def test_a_text_of_another_script_is_one_problem() -> None:
    problems = view_problems(replace(LOZENGE, customer=replace(LOZENGE.customer, name="שרה כהן")))
    assert [problem.where for problem in problems] == ["customer, name"]
    assert "U+05D4 (HEBREW LETTER HE), 2 more, which" in problems[0].what


def test_a_draft_need_not_be_signed() -> None:
    provenance = replace(LOZENGE.provenance, ledger_id="", ledger_size="", ledger_root_start="", evidence_digest="")
    draft = replace(LOZENGE, signatures=(), issued_on="", provenance=provenance, unsealed_mark="DRAFT")
    assert view_problems(draft) == ()
    assert view_problems(replace(draft, unsealed_mark="")) != ()


def test_the_type_has_what_a_laboratory_writes() -> None:
    wanted = (
        "µμ±≤≥²³¹⁰⁴⁵⁶⁷⁸⁹⁺⁻·–—−×÷°‰%√≈≠∞…“”‘’„«»§†‡•′″½¼¾αβγδεζηθικλμν"
        "ξοπρστυφχψωΓΔΘΛΞΠΣΦΨΩ₀₁₂₃₄₅₆₇₈₉äöüßÄÖÜåæøÅÆØñçéèêëîïôœŒőűŐŰł"
        "Łąęśźżćńčďěňřšťůžğışİžțșāēīūжшщыэюя"
    )
    assert [character for character in wanted if not printable(character)] == []
    assert len(shipped_characters()) > 1500


@pytest.mark.parametrize(
    ("text", "name"),
    [
        pytest.param("東京", "CJK", id="script without glyphs"),
        pytest.param("a\u202eb", "RIGHT-TO-LEFT OVERRIDE", id="order reversed invisibly"),
        pytest.param("a\u200bb", "ZERO WIDTH SPACE", id="invisible space"),
        pytest.param("a\nb", "no name", id="line break"),
        pytest.param("e\u0301", "COMBINING ACUTE", id="accent apart from its letter"),
        pytest.param("a\u2028b", "LINE SEPARATOR", id="line separator"),
    ],
)
def test_what_cannot_be_printed_is_named(text: str, name: str) -> None:
    problems = view_problems(replace(LOZENGE, item=replace(LOZENGE.item, lot=text)))
    assert {problem.code for problem in problems} == {"certificate.character-unprintable"}
    assert all(problem.where == "item, lot" for problem in problems)
    assert any(name in problem.what for problem in problems)


def test_the_view_holds_only_frozen_records_and_text() -> None:
    def walk(value: object) -> None:
        if is_dataclass(value) and not isinstance(value, type):
            assert value.__dataclass_params__.frozen  # type: ignore[attr-defined]
            for field in fields(value):
                walk(getattr(value, field.name))
        elif isinstance(value, tuple):
            for part in value:
                walk(part)
        else:
            assert isinstance(value, str | float | int | None)

    walk(LONG)
