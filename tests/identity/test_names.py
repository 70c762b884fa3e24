from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.identity.names import new_person_problems, person_id, printed_name_problems
from benchseal.problems import Problem
from benchseal.records.people import Person, Role


def enrolled(person: str, name: str, *, active: bool = True) -> Person:
    return Person(person, name, (Role.ANALYST,), "seen in person", "p-ada.vale", active)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        pytest.param("ines.brandt", "p-ines.brandt", id="handle alone"),
        pytest.param("p-ines.brandt", "p-ines.brandt", id="whole id"),
        pytest.param(" Ines.Brandt ", "p-ines.brandt", id="capitals and blanks around"),
        pytest.param("\uff49nes.brandt", "p-ines.brandt", id="full-width letter"),
        pytest.param("P-INES", "p-ines", id="capitals throughout"),
        pytest.param("a_b-c.d9", "p-a_b-c.d9", id="every mark"),
        pytest.param("ab", "p-ab", id="shortest"),
        pytest.param("a" * 38, "p-" + "a" * 38, id="longest"),
    ],
)
def test_an_id_is_read_as_meant(typed: str, expected: str) -> None:
    assert person_id(typed) == expected


@pytest.mark.parametrize(
    "typed",
    [
        pytest.param("", id="nothing"),
        pytest.param("p-", id="prefix alone"),
        pytest.param("a", id="one letter"),
        pytest.param("a" * 39, id="too long"),
        pytest.param("9ines", id="begins with a figure"),
        pytest.param("ines..brandt", id="two stops"),
        pytest.param(".ines", id="begins with a stop"),
        pytest.param("ines.", id="ends with a stop"),
        pytest.param("ines brandt", id="blank inside"),
        pytest.param("in\u00e9s", id="accent"),
        pytest.param("in\u0435s", id="Cyrillic letter"),
        pytest.param("ines\u200b", id="invisible character"),
        pytest.param("ines\nbrandt", id="line end"),
        pytest.param("../etc", id="path"),
        pytest.param("ines\x00", id="NUL"),
        pytest.param("\u202eseni", id="reading order turned round"),
    ],
)
def test_what_is_not_an_id(typed: str) -> None:
    found = person_id(typed)
    assert isinstance(found, Problem)
    assert found.code == "identity.person-id"
    assert found.what.isprintable()


@given(st.text(max_size=50))
def test_an_id_is_ascii_and_reads_back_to_itself(typed: str) -> None:
    found = person_id(typed)
    if isinstance(found, str):
        assert found.isascii()
        assert person_id(found) == found


@pytest.mark.parametrize(
    "name",
    [
        "Ines Brandt",
        "Dr. Anna-Lena O'Meara",
        "José Núñez",
        "Ólafur Þórsson",
        "Łukasz Żółć",
        "Олена Кравець",
        "Νίκος Παππάς",
        "山田 太郎",
        "やまだ タロウ 山",
        "김철수",
        "محمد علي",
        "Gabriel·la Solé",
        "Hālona Ka\u02bbai",
        "Jörg Müller (QA)",
    ],
)
def test_names_people_have(name: str) -> None:
    assert printed_name_problems(name) == ()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        pytest.param("", "no letter", id="nothing"),
        pytest.param("...", "no letter", id="marks alone"),
        pytest.param("A" * 81, "longer than 80", id="too long"),
        pytest.param(" Ines Brandt", "blank at an end", id="leading blank"),
        pytest.param("Ines  Brandt", "two together", id="two blanks"),
        pytest.param("Ines\tBrandt", "U+0009", id="tab (Cc)"),
        pytest.param("Ines\nBrandt", "U+000A", id="line end (Cc)"),
        pytest.param("Ines\u200bBrandt", "U+200B", id="zero-width space (Cf)"),
        pytest.param("\u202eInes", "U+202E", id="reading order turned round (Cf)"),
        pytest.param("Ines\u00adBrandt", "U+00AD", id="soft hyphen (Cf)"),
        pytest.param("Ines\ud800", "U+D800", id="half a surrogate pair (Cs)"),
        pytest.param("Ines\ue000", "U+E000", id="private use (Co)"),
        pytest.param("Ines\u0378", "U+0378", id="unassigned (Cn)"),
        pytest.param("Ines <b>", "U+003C, U+003E", id="markup"),
        pytest.param("Ines 2", "U+0032", id="figure"),
        pytest.param("\uff29nes", "compatibility", id="full-width letter"),
        pytest.param("Ine\u017f", "compatibility", id="long s"),
        pytest.param("I\u0301nes", "compatibility", id="accent apart (not NFC)"),
        pytest.param("In\u0435s Brandt", "Cyrillic, Latin", id="one Cyrillic letter"),
        pytest.param("Ines \u0392randt", "Greek, Latin", id="Greek capital beta"),
        pytest.param("Ines 山田", "Cjk, Latin", id="Latin and Han"),
        pytest.param("山田 김철수 タ", "mixes", id="Han with Hangul and Katakana"),
    ],
)
def test_names_that_cannot_be_printed(name: str, words: str) -> None:
    problems = printed_name_problems(name)
    assert any(words in problem.what for problem in problems)
    assert {problem.code for problem in problems} == {"identity.printed-name"}
    assert all(problem.what.isprintable() for problem in problems)


KNOWN = (
    enrolled("p-ines.brandt", "Ines Brandt"),
    enrolled("p-mark.lowe", "Mark Lowe", active=False),
    enrolled("p-olaf", "Олена"),
    enrolled("p-strasse", "Anna Strasse"),
)


@pytest.mark.refuses("DI Q5")
@pytest.mark.refuses("P11 11.100(a)", "P11 11.300(a)")
@pytest.mark.parametrize(
    ("person", "name", "code"),
    [
        pytest.param("p-ines.brandt", "Someone Else", "identity.person-known", id="same id"),
        pytest.param("p-mark.lowe", "Someone Else", "identity.person-known", id="id of a disabled person"),
        pytest.param("p-ines-brandt", "Someone Else", "identity.person-alike", id="hyphen for stop"),
        pytest.param("p-inesbrandt", "Someone Else", "identity.person-alike", id="stop left out"),
        pytest.param("p-marklowe", "Someone Else", "identity.person-alike", id="stop left out, disabled person"),
        pytest.param("p-mark.1owe", "Someone Else", "identity.person-alike", id="1 for l"),
        pytest.param("p-mark.l0we", "Someone Else", "identity.person-alike", id="0 for o"),
        pytest.param("p-rnark.lowe", "Someone Else", "identity.person-alike", id="rn for m"),
        pytest.param("p-mark.lovve", "Someone Else", "identity.person-alike", id="vv for w"),
        pytest.param("p-new", "Ines Brandt", "identity.name-alike", id="same name"),
        pytest.param("p-new", "INES BRANDT", "identity.name-alike", id="same name in capitals"),
        pytest.param("p-new", "lnes Brandt", "identity.name-alike", id="small l for capital i"),
        pytest.param("p-new", "Anna Straße", "identity.name-alike", id="sharp s folds to ss"),
        pytest.param("p-new", "ANNA STRASSE", "identity.name-alike", id="ss in capitals"),
    ],
)
def test_who_could_be_taken_for_somebody_else_is_not_enrolled(person: str, name: str, code: str) -> None:
    codes = {problem.code for problem in new_person_problems(person, name, KNOWN)}
    assert codes == {code}


def test_a_whole_name_in_look_alike_letters_is_seen_through() -> None:
    """All Cyrillic, so no mixed scripts; it still reads like a Latin name."""
    known = (enrolled("p-coco", "Cop Xex"),)
    name = "\u0421\u043e\u0440 \u0425\u0435\u0445"
    assert printed_name_problems(name) == ()
    assert [problem.code for problem in new_person_problems("p-new", name, known)] == ["identity.name-alike"]


def test_everything_is_said_at_once() -> None:
    problems = new_person_problems("p-ines.brandt", " ", KNOWN)
    assert [problem.code for problem in problems] == [
        "identity.printed-name",
        "identity.printed-name",
        "identity.person-known",
    ]


@pytest.mark.clause("P11 11.300(a)")
def test_a_new_person_is_welcome() -> None:
    assert new_person_problems("p-ada.vale", "Ada Vale", KNOWN) == ()
    assert new_person_problems("p-ada.vale", "Ada Vale", ()) == ()


def test_an_id_that_was_not_read_first_is_our_bug() -> None:
    with pytest.raises(AssertionError, match="person_id first"):
        new_person_problems("Ada.Vale", "Ada Vale", KNOWN)


@given(st.text(max_size=100))
def test_a_name_that_passes_is_safe_to_print_and_to_sign(name: str) -> None:
    if printed_name_problems(name) == ():
        assert name.isprintable()
        assert unicodedata.is_normalized("NFC", name)
        name.encode("utf-8")
