"""The reader of worked calculations finds what is wrong: else its finding nothing would mean nothing."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import pb_method
from tests.compute.test_explain_formulas import CONTENT, read, usual
from tests.compute.test_explain_reader import NotUnderstoodError, WrongError

from benchseal.compute.explain import explain

if TYPE_CHECKING:
    from benchseal.compute.explain_around import Around


def printed() -> tuple[Around, list[str]]:
    of = usual(replace(CONTENT, rule="guarded"), pb_method(blank_subtraction="undiluted"))
    return of, list(explain(of))


def test_a_changed_digit_in_any_formula_is_found() -> None:
    """Each number of record in a formula, one at a time, by one in its eighth digit.

    In a sum of squares, and of what is taken off, by one in its first: a small part hardly shows. What is cut or
    rounded is left out.
    """
    of, lines = printed()
    changed = 0
    for place, line in enumerate(lines):
        if not re.match(r" +(\S+ )?= ", line) or "⁴" in line or "= 2 x" in line or "rounded" in line:
            continue
        for found in re.finditer(r"\d+\.\d{8,}", line):
            first = next(at for at, sign in enumerate(found[0]) if sign in "123456789")
            small = "²" in line or line[: found.start()].endswith("- ")
            at = found.start() + first + (0 if small else 9 if "." in found[0][first : first + 9] else 8)
            wrong = f"{line[:at]}{(int(line[at]) + 1) % 10}{line[at + 1 :]}"
            with pytest.raises(WrongError):
                read(of, [*lines[:place], wrong, *lines[place + 1 :]])
            changed += 1
    assert changed > 30


@pytest.mark.parametrize(
    ("line", "by", "error"),
    [
        ("    k = 2", "    k is = 2", NotUnderstoodError),
        ("Readings", "Readings = 3", NotUnderstoodError),
        ("Readings", "readings=3", NotUnderstoodError),
        ("    dilution = 100 mL / 5 mL", "    dilution = 100 mL / 4 mL", WrongError),
        ("             = 20", "             = 20.0000001", WrongError),
        ("    dilution = 100 mL / 5 mL", "    dilution = 100 drops / 5 mL", NotUnderstoodError),
    ],
)
def test_a_line_that_is_not_a_formula_is_found(line: str, by: str, error: type[Exception]) -> None:
    of, lines = printed()
    place = lines.index(line)
    with pytest.raises(error):
        read(of, [*lines[:place], by, *lines[place + 1 :]])


def test_words_of_the_record_may_hold_a_sign_of_equality() -> None:
    of = usual(replace(CONTENT, limit_source="PDE 5 ug/day ÷ 24 g/day = 0.208 ug/g, rounded down"))
    read(of)
    lines = [line.replace("0.208", "0.209") for line in explain(of)]
    with pytest.raises(NotUnderstoodError):
        read(of, lines)


def test_means_are_asked_for_to_the_last_digit() -> None:
    of, lines = printed()
    place = lines.index("  Mean of 2 portions") + 2
    number = re.findall(r"[\d.]+", lines[place])[0]
    wrong = str(Decimal(number) + Decimal(1).scaleb(Decimal(number).as_tuple().exponent))  # type: ignore[arg-type]
    with pytest.raises(WrongError):
        read(of, [*lines[:place], lines[place].replace(number, wrong), *lines[place + 1 :]])
