"""The rules are those of NIST SP 800-63B-4 section 3.1.1.2, from memory; examples are our own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.identity.passwords import LONGEST, SHORTEST, normalized, password_problems


def codes(password: str) -> list[str]:
    problems = password_problems(password, person="p-ines.brandt", laboratory="Tern Quay Laboratory")
    return [problem.code.removeprefix("identity.password-") for problem in problems]


@pytest.mark.parametrize(
    "password",
    [
        pytest.param("copper lantern drifts north", id="unrelated words"),
        pytest.param("copperlanternxy", id="fifteen characters"),
        pytest.param("x7#Kq!vR2@mZp9$w", id="machine made"),
        pytest.param("493028571039486", id="figures without pattern"),
        pytest.param("кислый фонарь дрейфует", id="Cyrillic"),
        pytest.param("銅のランタンが北へゆっくり流れていく", id="Japanese"),
        pytest.param("  copper lantern  ", id="blanks around count"),
        pytest.param("ines paints a yellow submarine", id="user id is a small part"),
        pytest.param("the laboratory cat sleeps all day", id="laboratory is a small part"),
        pytest.param("my password rhymes with giraffe", id="common word is a small part"),
        pytest.param("abcd is how songs of childhood begin", id="run is a small part"),
        pytest.param("w" + "copper lantern " * 8, id="long"),
    ],
)
def test_accepted(password: str) -> None:
    assert codes(password) == []


@pytest.mark.parametrize(
    ("password", "code"),
    [
        pytest.param("", "short", id="nothing"),
        pytest.param("copperlanternx", "short", id="fourteen characters"),
        pytest.param("\ufb03" * 4 + "ab", "short", id="six as typed, fourteen as checked"),
        pytest.param("copper lantern " * 9, "long", id="longer than 128"),
        pytest.param("copper lantern\ndrifts", "character", id="line end"),
        pytest.param("copper lantern\x00drifts", "character", id="NUL"),
        pytest.param("copper lantern\ud800drifts", "character", id="half a surrogate pair"),
        pytest.param("copperlantern" * 2, "repeats", id="same word twice"),
        pytest.param("xkqxkqxkqxkqxkqxkqx", "repeats", id="three letters over and over"),
        pytest.param("ines.brandt.2026", "guessable", id="user id and year"),
        pytest.param("BrandtInes123456789", "guessable", id="user id turned round"),
        pytest.param("Brandt Ines 2026030412", "guessable", id="user id and many figures"),
        pytest.param("Tern Quay Laboratory 1!", "guessable", id="laboratory name"),
        pytest.param("TernQuay.Benchseal.26", "guessable", id="laboratory and program"),
        pytest.param("benchseal-bench-26", "guessable", id="program name and little else"),
        pytest.param("Password!Password2", "guessable", id="common password twice, differing"),
        pytest.param("letmein-letmein-please", "guessable", id="common password and a word"),
        pytest.param("correct horse battery staple", "guessable", id="published example"),
        pytest.param("qwertyuiopasdfghjkl", "guessable", id="rows of keys"),
        pytest.param("1qaz2wsx3edc4rfv5tgb", "guessable", id="columns of keys"),
        pytest.param("abcdefghijklmnopq", "guessable", id="alphabet"),
        pytest.param("9876543210qwertz", "guessable", id="figures down, keys up"),
        pytest.param("zzzzzzzzzzzzyyyyyyyyyx", "guessable", id="two letters held down"),
    ],
)
def test_refused_and_told_why(password: str, code: str) -> None:
    assert codes(password) == [code]


def test_one_character_held_down_fails_twice() -> None:
    assert codes("aaaaaaaaaaaaaaaaaaaa") == ["repeats", "guessable"]


def test_the_message_names_the_parts_and_shows_none() -> None:
    (problem,) = password_problems("InesTernquay12345", person="p-ines.brandt", laboratory="Tern Quay")
    assert "the user id, the laboratory name and runs of keys, letters or figures" in problem.what
    for part in ("ines", "ternquay", "12345"):
        assert part not in str(problem).casefold()


def test_the_same_password_typed_two_ways_is_one_password() -> None:
    assert normalized("cafe\u0301 au lait noir") == normalized("caf\u00e9 au lait noir")


@given(st.text(max_size=140))
def test_length_rules_hold_for_any_text_and_nothing_faults(password: str) -> None:
    found = codes(password)
    assert ("short" in found) == (len(normalized(password)) < SHORTEST)
    assert ("long" in found) == (len(normalized(password)) > LONGEST)


@given(st.text(min_size=16, max_size=40, alphabet="!$%&/()=?^*+~#;:,.- "))
def test_a_password_without_letters_or_figures_is_judged_by_length_and_repetition_alone(password: str) -> None:
    assert set(codes(password)) <= {"repeats"}
