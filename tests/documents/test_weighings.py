"""Prints of a balance: masses by portion to the last figure, every line accounted for, every refusal with its line."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.documents.rules_balance_layout import balance_layout_faults
from benchseal.documents.weighings import read_weighings
from benchseal.problems import Problem
from benchseal.records.balance_layout import BalanceLayout
from benchseal.records.layout import LineRule
from benchseal.shipped import starter

HEAD = "Weighing list\nApparatus  WB-2044\n"
FIRST = "Label   Y-1\nGross   12.4563 g\nEmpty   11.4443 g\nNet      1.0120 g\nAt 2026-03-02 09:12\n---\n"
SECOND = "Label   Y-2\nNet    998.70 mg\n\n"
END = "Signed ____\n"


def layout(**changes: Any) -> BalanceLayout:  # noqa: ANN401  any field
    read = read_document(starter("balances/bench-balance.yaml").encode(), "b.yaml")
    assert isinstance(read, ControlledDocument), read
    assert isinstance(read.value, BalanceLayout)
    return replace(read.value, **changes)


LAYOUT = layout()


def read(text: str, by: BalanceLayout = LAYOUT) -> dict[str, str] | tuple[Any, ...]:
    return read_weighings(text.encode(), "p", by)


def codes(text: str, by: BalanceLayout = LAYOUT) -> list[tuple[str, str]]:
    found = read(text, by)
    assert isinstance(found, tuple), found
    return [(each.code, each.where) for each in found]


def test_masses_keep_their_figures_and_milligrams_become_grams() -> None:
    due = {"Y-1": "1.0120", "Y-2": "0.99870"}
    assert read(HEAD + FIRST + SECOND + END) == due
    assert read((HEAD + FIRST + SECOND + END).replace("\n", "\r\n")) == due


BAD: dict[str, tuple[str, str, str]] = {
    "nothing": ("", "balance.weighing-missing", "p"),
    "a head alone": (HEAD, "balance.weighing-missing", "p"),
    "no head": (FIRST, "balance.line-missing", "p"),
    "a line nobody knows": (HEAD + FIRST + "Battery low\n", "balance.line-unread", "p, line 9"),
    "a line of the head behind": (HEAD + FIRST + "Weighing list\n", "balance.line-unread", "p, line 9"),
    "a net weight twice": (HEAD + FIRST + "Net  1.0 g\n", "balance.line-repeated", "p, line 9"),
    "no net weight": (HEAD + "Label  Y-1\nLabel  Y-2\nNet 1.0 g\n", "balance.line-missing", "p, line 3"),
    "cut off": (HEAD + "Label  Y-1\n", "balance.line-missing", "p, line 3"),
    "a label twice": (HEAD + FIRST + FIRST, "balance.twice", "p, line 9"),
    "not settled": (HEAD + FIRST.replace("1.0120 g", "1.0120 ? g"), "balance.unstable", "p, line 6"),
    "gross and empty that do not fit": (HEAD + FIRST.replace("1.0120", "1.0130"), "balance.sum-differs", "p, line 3"),
    "nothing on it": (HEAD + "Label  Y-1\nNet  0.0000 g\n", "balance.row", "p, line 3"),
    "no number": (HEAD + "Label  Y-1\nNet  1.01.2 g\n", "balance.row", "p, line 3"),
    "another balance": (HEAD.replace("2044", "2045") + FIRST, "balance.serial-differs", "p, line 2"),
    "a line beyond reading": (HEAD + FIRST + "x" * 600, "balance.line-unread", "p, line 9"),
    "a control sign": (HEAD + FIRST + "\x1b\n", "documents.control-sign", "p, line 9"),
    "a sign the encoding has not": (HEAD + "é", "balance.unreadable", "p"),
}


@pytest.mark.parametrize("case", list(BAD))
def test_every_refusal_has_its_code_and_line(case: str) -> None:
    text, code, where = BAD[case]
    found = codes(text)
    assert any(one == code and place.startswith(where) for one, place in found), found


@pytest.mark.parametrize("sign", ["\f", "\0"])
def test_a_print_with_codes_in_it_is_not_told_to_become_a_workbook(sign: str) -> None:
    (problem,) = read_weighings(f"{HEAD}{sign}{FIRST}".encode("ascii"), "p", layout())
    assert isinstance(problem, Problem)
    assert problem.code == "documents.control-sign"
    assert problem.remedy.startswith("Print again at the balance")


def test_a_print_in_utf_8_under_a_code_of_one_byte_is_refused() -> None:
    lines = (LineRule(r"(?P<portion>\S+)=(?P<mass>[0-9,.]+)"),)
    by = layout(weighing=lines, head=(), unit="mg", serial="", unstable_lines=(), encoding="cp850")
    assert read_weighings("Süd=12.50\n".encode("cp850"), "p", by) == {"Süd": "0.01250"}
    assert codes("Süd=12.50\n", by) == [("balance.unreadable", "p")]
    assert codes("\ufeffS=12.50\n", by) == [("balance.unreadable", "p")]


def test_all_problems_at_once_and_too_large_a_print() -> None:
    text = HEAD + FIRST.replace("1.0120 g", "1.0120 ? g") + "odd\n" + SECOND.replace("998.70", "0.0")
    assert [code for code, _ in codes(text)] == [
        "balance.unstable", "balance.line-unread", "balance.line-missing", "balance.row",
    ]  # fmt: skip
    assert codes("x" * (16 * 2**20 + 1)) == [("balance.too-large", "p")]


def test_a_unit_of_the_layout_a_comma_and_two_balances() -> None:
    lines = (LineRule(r"(?P<portion>\S+)=(?P<mass>[0-9,.]+)"), LineRule("No (?P<serial>.+)", needed=False))
    plain = layout(weighing=lines, head=(), unit="mg", decimal_mark=",", serial="", unstable_lines=())
    assert read("A=12,50\n", plain) == {"A": "0.01250"}
    assert codes("A=1.250\n", plain) == [("balance.row", "p, line 1")]
    assert codes("A=1,0\nNo 1\nB=2,0\nNo 2\n", plain) == [("balance.serial-differs", "p")]
    named = replace(plain, serial="7")
    assert codes("A=1,0\n", named) == [("balance.serial-differs", "p")]


def _old(*, unit: str = "") -> BalanceLayout:
    """A layout whose lines let any unit pass."""
    mass = "(?P<mass>[0-9.]+) +(?P<unit>[a-z]+)" if not unit else "(?P<mass>[0-9.]+) +[a-z]+"
    lines = [r"Label +(?P<portion>\S+)", "Gross +(?P<gross>[0-9.]+) +[a-z]+", "Empty +(?P<tare>[0-9.]+) +[a-z]+"]
    return layout(weighing=tuple(LineRule(line) for line in (*lines, f"Net +{mass}")), unit=unit)


UNITS: dict[str, tuple[str, str, str, str]] = {
    "kilograms beside grams": ("2.0 kg", "0.988 kg", "1.0120 g", "balance.sum-differs"),
    "milligrams beside grams": ("2.0 g", "0.9880 mg", "1.0120 g", "balance.sum-differs"),
    "pounds": ("2.0 lb", "0.988 lb", "1.0120 lb", "balance.row"),
    "a unit nobody knows": ("2.0 xx", "0.988 g", "1.0120 g", "balance.row"),
    "micrograms": ("2.0 ug", "0.988 ug", "1.0120 g", "balance.row"),
}


@pytest.mark.parametrize("case", list(UNITS))
def test_units_that_contradict_the_mass_are_refused(case: str) -> None:
    gross, tare, net, code = UNITS[case]
    text = f"{HEAD}Label Y-1\nGross {gross}\nEmpty {tare}\nNet {net}\n"
    assert [one for one, _ in codes(text, _old())] == [code]
    assert codes(text)  # by the starter, whose lines take no other unit


@pytest.mark.parametrize("by", [LAYOUT, _old()])
@pytest.mark.parametrize(
    ("lines", "grams"),
    [
        ("Gross 2000 mg\nEmpty 988 mg\nNet 1.012 g", "1.012"),
        ("Gross 2.0 g\nEmpty 988.0 mg\nNet 1.0120 g", "1.0120"),
        ("Gross 2.0 kg\nEmpty 0.988 kg\nNet 1012.0 g", "1012.0"),
        ("Gross 2000.0 g\nEmpty 988.0 g\nNet 1.0120 kg", "1012.0"),
    ],
)
def test_each_mass_is_read_in_its_own_unit(lines: str, grams: str, by: BalanceLayout) -> None:
    assert read(f"{HEAD}Label Y-1\n{lines}\n", by) == {"Y-1": grams}


def test_a_unit_the_line_says_is_held_against_that_of_the_layout() -> None:
    text = f"{HEAD}Label Y-1\nGross 2.0 g\nEmpty 0.988 g\nNet 1.0120 g\n"
    assert read(text, _old(unit="g")) == {"Y-1": "1.0120"}
    assert codes(text, _old(unit="mg")) == [("balance.row", "p, line 3")]
    assert codes(text.replace("Net 1.0120 g", "Net 1012.0 mg"), _old(unit="g")) == [("balance.row", "p, line 3")]


def test_a_word_the_layout_says_itself_is_no_unit() -> None:
    lines = (LineRule(r"(?P<portion>\S+): (?P<mass>[0-9.]+) stable"),)
    plain = layout(weighing=lines, head=(), unit="g", serial="")
    assert read("A: 1.0120 stable\n", plain) == {"A": "1.0120"}
    any_word = replace(plain, weighing=(LineRule(r"(?P<portion>\S+): (?P<mass>[0-9.]+) \w+"),))
    assert codes("A: 1.0120 stable\n", any_word) == [("balance.row", "p, line 1")]


def _any_rest(line: str = r"Net;(?P<mass>[0-9.]+).*", *, mark: str = ".") -> BalanceLayout:
    """A layout that lets pass whatever stands around the number."""
    lines = (LineRule(r"Label;(?P<portion>\S+)"), LineRule(line))
    return layout(weighing=lines, head=(), unit="g", serial="", unstable_lines=(), decimal_mark=mark)


@pytest.mark.parametrize(
    "rest",
    [";mg;stable", ", mg", ": mg", "=mg", "+mg", " - mg", "#mg", "/mg", "_mg", " %", "|mg", ";;mg", ";3;mg", ";MG"],
)
def test_a_unit_behind_any_sign_is_the_unit(rest: str) -> None:
    assert codes(f"Label;Y-1\nNet;1012.0{rest}\n", _any_rest()) == [("balance.row", "p, line 1")]
    assert read(f"Label;Y-1\nNet;1.0120{rest.replace('mg', 'g').replace('MG', 'g').replace('%', 'g')}\n", _any_rest())


@pytest.mark.parametrize("line", ["Net [mg];1012.0", "Net;mg;1012.0", "Net;ug;1.0", "Net;mg;1012.0;g"])
def test_a_unit_before_the_number_is_the_unit(line: str) -> None:
    by = _any_rest(r"Net.*;(?P<mass>[0-9.]+).*")
    assert codes(f"Label;Y-1\n{line}\n", by) == [("balance.row", "p, line 1")]
    assert read("Label;Y-1\nNet [g];1.0120\n", by) == {"Y-1": "1.0120"}


def test_labels_dates_and_serial_numbers_are_no_units() -> None:
    one = r"(?P<portion>\S+);(?P<mass>[0-9.]+);(?P<serial>[^;]+);(?P<weighed_at>.+)"
    by = layout(weighing=(LineRule(one),), head=(), unit="g", serial="", unstable_lines=())
    assert read("mg;1.0120;WB-2044;2 March\n", by) == {"mg": "1.0120"}
    assert codes("Y-1;1012.0;mg;2 March\n", by) == [("balance.row", "p, line 1")]
    assert codes("Y-1;1012.0;WB-2044;mg stable\n", by) == [("balance.row", "p, line 1")]


@pytest.mark.parametrize(
    ("line", "pattern", "mark"),
    [
        ("Net;1,012.0 g", "Net;(?P<mass>[0-9.]+).*", "."),
        ("Net;1 012.0 g", "Net;(?P<mass>[0-9.]+).*", "."),
        ("Net;1.0120 g", "Net;(?P<mass>[0-9]+).*", "."),
        ("Net;1012.0 g", ".*(?P<mass>[0-9.]+) g", "."),
        ("Net;-1.0120 g", "Net;.(?P<mass>[0-9.]+) g", "."),
        ("Net;1.012,0 g", "Net;(?P<mass>[0-9,]+).*", ","),
    ],
)
def test_a_part_of_a_number_is_no_number(line: str, pattern: str, mark: str) -> None:
    assert ("balance.row", "p, line 2") in codes(f"Label;Y-1\n{line}\n", _any_rest(pattern, mark=mark))


@pytest.mark.parametrize(
    "line", ["Net;......1.0120 g", "Net;1.0120;3;001", "Net;1.0120 2026-03-02", "Net;--- 1.0120 g"]
)
def test_what_stands_around_a_whole_number_is_not_of_it(line: str) -> None:
    assert read(f"Label;Y-1\n{line}\n", _any_rest(r"Net;[. -]*(?P<mass>[0-9][0-9.]+).*")) == {"Y-1": "1.0120"}


@given(
    masses=st.lists(st.decimals(min_value="0.0001", max_value=9999, places=4), min_size=1, max_size=8),
    units=st.lists(st.sampled_from(["kg", "g", "mg"]), min_size=8, max_size=8),
)
def test_every_mass_comes_back_exactly(masses: list[Decimal], units: list[str]) -> None:
    lines = [
        f"Label  P-{nth}\nNet  {mass} {unit}\n" for nth, (mass, unit) in enumerate(zip(masses, units, strict=False))
    ]
    found = read(HEAD + "".join(lines))
    assert isinstance(found, dict), found
    for nth, (mass, unit) in enumerate(zip(masses, units, strict=False)):
        assert Decimal(found[f"P-{nth}"]) == mass.scaleb({"kg": 3, "g": 0, "mg": -3}[unit])


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=500)
@given(data=st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_no_bytes_bring_it_down(data: bytes) -> None:
    assert read_weighings(data, "p", LAYOUT)


@pytest.mark.long
@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=20_000)
@given(data=st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_no_bytes_bring_it_down_at_length(data: bytes) -> None:
    assert read_weighings(data, "p", LAYOUT)


RULES = LAYOUT.weighing
FAULTS: dict[str, tuple[dict[str, Any], str]] = {
    "no mass": ({"weighing": RULES[:1], "unit": "g"}, "balance-fact"),
    "a mass of a line that may lack": (
        {"weighing": (*RULES[:3], replace(RULES[3], needed=False)), "unit": "g"}, "balance-fact",
    ),
    "a first line that may lack": ({"weighing": (replace(RULES[0], needed=False), *RULES[1:])}, "balance-fact"),
    "two masses": ({"weighing": (*RULES, LineRule("Again (?P<mass>.+)"))}, "balance-fact"),
    "no unit": ({"weighing": (RULES[0], LineRule("Net (?P<mass>.+)"))}, "balance-unit"),
    "two units": ({"unit": "g"}, "balance-unit"),
    "no pattern": ({"drop_lines": ("(",)}, "balance-pattern"),
    "a fact of a line that is dropped": ({"drop_lines": ("(?P<mass>.*)",)}, "balance-fact"),
    "a unit of what is not there": ({"weighing": (*RULES[:4], LineRule("(?P<gross_unit>.)"))}, "balance-fact"),
    "a mass of the head": ({"head": (LineRule("(?P<mass>.*)"),)}, "balance-fact"),
}  # fmt: skip


@pytest.mark.parametrize("case", list(FAULTS))
def test_a_layout_that_cannot_work_is_refused(case: str) -> None:
    changes, code = FAULTS[case]
    assert f"documents.{code}" in {fault.code for fault in balance_layout_faults(replace(LAYOUT, **changes))}
    assert list(balance_layout_faults(LAYOUT)) == []


def test_a_print_with_the_other_decimal_mark_is_told_so() -> None:
    found = read(HEAD + FIRST.replace("1.0120", "1,0120") + SECOND + END)
    (said,) = [one for one in found if not isinstance(one, str) and one.code == "balance.line-unread"]
    assert said.what.endswith("With decimal mark '.' it would have one.")
    assert "Set the balance to write '.'" in said.remedy
    (other,) = [one for one in read(HEAD + FIRST + "Battery low\n" + SECOND) if not isinstance(one, str)]
    assert "decimal mark" not in other.what + other.remedy
