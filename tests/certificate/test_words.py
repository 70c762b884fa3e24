"""The catalogues: the same keys with the same places in each language, none unused, none missing."""

from __future__ import annotations

import ast
import re
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from string import Formatter
from typing import TYPE_CHECKING, get_args

import pytest
from tests.verify.making import make

from benchseal import shipped
from benchseal.certificate.complete import printable
from benchseal.certificate.language import CATALOGUES, ENGLISH, Words
from benchseal.certificate.words_de import DE
from benchseal.certificate.words_en import EN
from benchseal.records.elements import ELEMENT_NAMES
from benchseal.records.method import CheckKind, Technique
from benchseal.records.printed_form import USUAL_FORM, DatePattern, Language, PrintedForm
from benchseal.records.results import Verdict
from benchseal.records.specification import Basis, BoundRule, DecisionRule, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterator

_ROOM = Path(__file__).parents[2] / "pipeline" / "benchseal" / "certificate"
_SAYS = {"say", "_say", "template"}
_TEMPLATES = (
    "certificate.html.jinja",
    "certificate_body.html.jinja",
    "withdrawal.html.jinja",
    "instruction.html.jinja",
)
_TABLES = ("long_papers", "render", "withdrawal")  # modules that keep keys in tables
_COMPOSED = {"conclusion", "uncorrected", "signed", "check_order", "check_score"}  # keys put together from two parts
GERMAN = Words(PrintedForm("de", ",", "", "d. MMMM y"))


def _calls() -> Iterator[ast.Call]:
    for path in sorted(_ROOM.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args:
                yield node


def _name(call: ast.Call) -> str:
    of = call.func
    return of.attr if isinstance(of, ast.Attribute) else of.id if isinstance(of, ast.Name) else ""


def _said() -> Iterator[str]:
    """Every key that is asked for by its whole name, in code and in the templates."""
    for call in _calls():
        if _name(call) in _SAYS:
            yield from (
                one.value
                for one in ast.walk(call.args[0])
                if isinstance(one, ast.Constant) and isinstance(one.value, str) and "/" in one.value.rstrip("/")
            )
    for path in (*sorted(_ROOM.glob("present*.py")), *(_ROOM / f"{name}.py" for name in _TABLES)):  # kept in tables
        found = re.findall(
            r'"((?:signed|detail|quantity|item|table|notice|heading)/[a-z_0-9]+)"', path.read_text(encoding="utf-8")
        )
        yield from found
    for name in _TEMPLATES:
        yield from re.findall(r'say\("([a-z_]+/[a-zA-Z_]+)"(?! ~)', shipped.template(name))


def _families() -> set[str]:
    """The first part of every key that is asked for by a code of the record."""
    found = {
        call.args[0].value
        for call in _calls()
        if _name(call) == "word" and isinstance(call.args[0], ast.Constant) and isinstance(call.args[0].value, str)
    }
    return found | _COMPOSED | {"mark"}


def _places(text: str) -> list[str]:
    return sorted(name for _, name, _, _ in Formatter().parse(text) if name is not None)


def test_every_language_of_the_record_has_a_catalogue() -> None:
    assert set(CATALOGUES) == set(get_args(Language))


def test_every_key_stands_in_every_language() -> None:
    assert DE.keys() == EN.keys()


@pytest.mark.parametrize("key", sorted(EN))
def test_a_sentence_has_the_same_places_in_every_language(key: str) -> None:
    assert _places(DE[key]) == _places(EN[key])
    assert all(name.isidentifier() for name in _places(EN[key]))


def test_no_key_that_is_asked_for_is_missing() -> None:
    said = set(_said())
    assert len(said) > 100, "the calls were not found"
    assert said - EN.keys() - {"none"} == set()


def test_no_key_is_never_asked_for() -> None:
    families = _families()
    said = set(_said()) | {"none"}
    assert {key for key in EN if key not in said and key.partition("/")[0] not in families} == set()


@pytest.mark.parametrize(
    ("family", "codes"),
    [
        ("technique", get_args(Technique)),
        ("rule", get_args(DecisionRule)),
        ("rule_sentence", get_args(DecisionRule)),
        ("bound", get_args(BoundRule)),
        ("bound_sentence", get_args(BoundRule)),
        ("verdict", (*get_args(Verdict), "not_judged")),
        ("line", get_args(Quantity)),
        ("basis", get_args(Basis)),
        ("basis_named", get_args(Basis)),
        ("check", (*get_args(CheckKind), "calibration", "replicates")),
        ("element", tuple(ELEMENT_NAMES)),
        ("month", tuple(map(str, range(1, 13)))),
        ("count", tuple(map(str, range(13)))),
    ],
)
def test_every_code_of_the_record_has_words(family: str, codes: tuple[str, ...]) -> None:
    assert {key.partition("/")[2] for key in EN if key.partition("/")[0] == family} == set(codes)


def test_every_line_of_a_budget_has_words() -> None:
    """The names of ``compute.run_budget``, read from its source: one that is new would be printed in English."""
    source = (_ROOM.parent / "compute" / "run_budget.py").read_text(encoding="utf-8")
    named = set(re.findall(r'Term\("([^"]+)"', source))
    for line in re.findall(r'^[A-Z_, ]+ = ("[^\n]+)$', source, re.MULTILINE):
        named |= set(re.findall(r'"([^"]+)"', line))
    assert len(named) > 15
    assert {f"covers/{name}" for name in named} <= EN.keys()


@pytest.mark.parametrize("language", sorted(CATALOGUES))
def test_every_word_can_be_printed(language: Language) -> None:
    missing = {sign for text in CATALOGUES[language].values() for sign in text if not printable(sign)}
    assert missing == set()


def test_german_says_nothing_in_english() -> None:
    """What stands equal in both: terms, units and signs that are the same in both languages."""
    same = {key for key in EN if EN[key] == DE[key] and not key.startswith(("element/", "month/"))}
    assert same == {
        "check_score/e_n", "check_score/zeta", "curve/fit", "decision/line", "detail/bound", "list/comma",
        "quantity/mass_fraction", "quantity/on_basis", "run/heading", "sum/bounds", "uncertainty/k",
    } - {"quantity/mass_fraction"}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "point", "comma", "spaced", "dotted"),
    [
        ("0.067", "0.067", "0,067", "0,067", "0,067"),
        ("-1234.50", "−1234.50", "−1234,50", "−1\u202f234,50", "−1.234,50"),  # noqa: RUF001  a true minus
        ("<0.013", "< 0.013", "< 0,013", "< 0,013", "< 0,013"),
        ("1234567", "1234567", "1234567", "1\u202f234\u202f567", "1.234.567"),
        ("123", "123", "123", "123", "123"),
        ("", "", "", "", ""),
    ],
)
def test_numbers_have_the_signs_of_their_form(text: str, point: str, comma: str, spaced: str, dotted: str) -> None:
    forms = (USUAL_FORM, *(PrintedForm("de", ",", group, "dd.MM.y") for group in ("", "\u202f", ".")))
    assert tuple(Words(form).number(text) for form in forms) == (point, comma, spaced, dotted)


@pytest.mark.parametrize(
    ("pattern", "one", "several"),
    [
        ("d MMMM y", "4 März 2026", "28 Februar bis 4 März 2026"),
        ("d. MMMM y", "4. März 2026", "28. Februar bis 4. März 2026"),
        ("MMMM d, y", "März 4, 2026", "Februar 28, 2026 bis März 4, 2026"),
        ("dd.MM.y", "04.03.2026", "28.02.2026 bis 04.03.2026"),
        ("y-MM-dd", "2026-03-04", "2026-02-28 bis 2026-03-04"),
    ],
)
def test_days_follow_the_pattern(pattern: DatePattern, one: str, several: str) -> None:
    words = Words(PrintedForm("de", ",", "", pattern))
    assert words.day(date(2026, 3, 4)) == one
    assert words.days("2026-02-28", "2026-03-04") == several


@pytest.mark.parametrize("pattern", get_args(DatePattern))
def test_no_two_days_are_printed_alike(pattern: DatePattern) -> None:
    words = Words(PrintedForm("de", ",", "", pattern))
    days = [words.day(date(2026, 1, 1) + timedelta(days=nth)) for nth in range(730)]
    assert len(set(days)) == 730
    assert all(one != other for one, other in pairwise(days))


def test_days_within_a_month_say_month_and_year_once() -> None:
    assert GERMAN.days("2026-03-02", "2026-03-04") == "2. bis 4. März 2026"
    assert GERMAN.days("2026-03-02", "2026-03-02") == "2. März 2026"
    assert GERMAN.days("2025-12-30", "2026-01-02") == "30. Dezember 2025 bis 2. Januar 2026"


def test_limits_and_intervals_speak_german() -> None:
    assert GERMAN.limit("90.0", "110.0", "% der Deklaration") == "90,0 bis 110,0 % der Deklaration"
    assert GERMAN.limit("", "0.50", "") == "höchstens 0,50"
    assert GERMAN.limit("0.5", "", "") == "mindestens 0,5"
    assert GERMAN.interval("-0.5", "0.5", "ug/L") == "±0,5 µg/L"
    assert GERMAN.unit("ug/d") == "µg/Tag"
    assert GERMAN.listed(["Blei", "Cadmium", "Zink"]) == "Blei, Cadmium und Zink"


def test_english_is_the_form_when_none_is_asked_for() -> None:
    assert make().view().words == ENGLISH
