"""Groups of words in the narrow columns under a picture: where a line breaks, and that no word changes."""

# ruff: noqa: RUF001  true minus signs are what is printed

from __future__ import annotations

import pytest

from benchseal.certificate.kept_whole import groups_of, in_groups


@pytest.mark.parametrize(
    ("text", "groups"),
    [
        pytest.param("", ("",), id="nothing"),
        pytest.param("87.1 to 100 % (1 of 3)", ("87.1 to", "100 %", "(1 of 3)"), id="how many failed"),
        pytest.param("−0,0035 bis −0,000694 µg/L", ("−0,0035 bis", "−0,000694 µg/L"), id="a number and its unit"),
        pytest.param("r² 0.99857", ("r² 0.99857",), id="a sign that is no word"),
        pytest.param("≥ 0.990", ("≥ 0.990",), id="a limit"),
        pytest.param("Teilproben, von Grenze", ("Teilproben,", "von Grenze"), id="words after a comma"),
        pytest.param("check standard, 3", ("check", "standard, 3"), id="a count"),
        pytest.param("spike recovery, 2*", ("spike", "recovery, 2*"), id="a count with its mark"),
        pytest.param("97.8 to 101 %, 2 not judged", ("97.8 to", "101 %,", "2 not judged"), id="how many are open"),
        pytest.param("not judged", ("not", "judged"), id="plain words"),
    ],
)
def test_a_line_breaks_between_what_means_something_alone(text: str, groups: tuple[str, ...]) -> None:
    assert groups_of(text) == groups
    assert " ".join(groups) == text


def test_groups_of_several_words_are_marked_and_what_they_hold_is_text() -> None:
    assert in_groups("0.1 µg/L") == '<span class="group">0.1 <span class="unit">µg/L</span></span>'
    assert in_groups("met") == "met"
    assert in_groups("<b> 1 (a & b)") == (
        '<span class="group">&lt;b&gt; 1</span> <span class="group">(a &amp; b)</span>'
    )
