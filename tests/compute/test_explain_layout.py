"""The page of a worked calculation to the last sign: where a line ends, how it goes on, what stands in brackets."""

from __future__ import annotations

import pytest

from benchseal.compute.explain_layout import (
    WIDTH,
    counted,
    formula,
    heading,
    prose,
    put,
    said,
    spans,
    table,
    table_rows,
    turned,
)


def test_a_page_is_as_wide_as_a_printed_one() -> None:
    assert WIDTH == 110


def test_words_fill_a_line_to_its_last_place_and_go_on_four_further_in() -> None:
    assert list(prose("a" * 108)) == ["  " + "a" * 108]
    assert list(prose("a" * 53 + " " + "b" * 54)) == ["  " + "a" * 53 + " " + "b" * 54]
    assert list(prose("a" * 54 + " " + "b" * 54)) == ["  " + "a" * 54, "      " + "b" * 54]
    assert next(prose("one-two " * 16, 4)) == "    " + "one-two " * 12 + "one-two"
    assert list(prose("a" * 105 + "-b c", 0)) == ["a" * 105 + "-b c"]
    whole = "a" * 40 + "-" + "b" * 60
    assert list(prose("c" * 40 + f" {whole}", 0)) == ["c" * 40, f"    {whole}"], "a hyphen is no place to break at"


def test_a_section_begins_after_a_blank_line_at_the_edge() -> None:
    assert list(heading("Checks")) == ["", "Checks"]


def test_what_has_no_words_is_not_said() -> None:
    assert list(said("source", "a letter")) == ["  source: a letter"]
    assert list(said("source", "a letter", 6)) == ["      source: a letter"]
    assert list(said("source", "")) == list(said("source", " ")) == []


def test_a_name_of_twelve_signs_stands_before_its_formula_and_a_longer_one_above_it() -> None:
    assert list(formula("twelve signs", "1 + 1", "2")) == ["  twelve signs = 1 + 1", "               = 2"]
    assert list(formula("thirteen sign", "1 + 1", "2")) == ["  thirteen sign", "    = 1 + 1", "    = 2"]
    assert list(formula("thirteen sign", "2", indent=4)) == ["    thirteen sign", "      = 2"]


def test_each_member_may_fill_its_line_and_not_one_sign_more() -> None:
    """A member begins four signs after a name of one; what goes on begins four after its sign of equality."""
    first = "a" * 100
    assert list(formula("u", f"{first} + b")) == [f"  u = {first} + b"]
    assert len(f"  u = {first} + b") == WIDTH
    assert list(formula("u", f"{first} + bc")) == [f"  u = {first}", "        + bc"]
    assert list(formula("u", "1", f"{first} + b")) == ["  u = 1", f"    = {first} + b"]
    assert list(formula("u", "1", f"{first} + bc")) == ["  u = 1", f"    = {first}", "        + bc"]
    assert list(formula("a name of many words", f"{first} + bc", f"{first} x bc")) == [
        "  a name of many words",
        f"    = {first}",
        "        + bc",
        f"    = {first}",
        "        x bc",
    ]


def test_a_line_that_goes_on_fills_its_place_too() -> None:
    """A line that goes on begins at 8, so 102 signs are left to it."""
    first, more = "a" * 100, "/ " + "c" * 99
    fits = f"+ {'b' * 96} + d"
    assert list(formula("u", f"{first} {fits}")) == [f"  u = {first}", f"        {fits}"]
    assert len(f"        {fits}") == WIDTH
    over = f"+ {'b' * 96} + de"
    assert list(formula("u", f"{first} {over}")) == [f"  u = {first}", f"        + {'b' * 96}", "        + de"]
    assert list(formula("u", f"{first} {more}")) == [f"  u = {first}", f"        {more}"]


def test_only_an_operator_with_blanks_around_it_is_a_place_to_break_at() -> None:
    long = "1/1000 " * 16
    assert list(formula("u", long.strip())) == [f"  u = {long.strip()}"], "no operator: not broken"


def test_columns_stand_two_apart_and_rows_may_be_shorter() -> None:
    rows = [("name", "1", "x"), ("a", "22"), ("bb",)]
    assert list(table(rows)) == ["  name  1   x", "  a     22", "  bb"]
    assert list(table(rows, 4, frozenset({0, 1}))) == ["    name   1  x", "       a  22", "      bb"]
    assert list(table_rows(rows[:2])) == [("  name  1   x",), ("  a     22",)]
    assert list(table_rows([])) == []


@pytest.mark.parametrize(
    ("row", "lines"),
    [
        pytest.param(("a" * 50, "b" * 56), ["  " + "a" * 50 + "  " + "b" * 56], id="fills the line"),
        pytest.param(("a" * 50, "b" * 57), ["  " + "a" * 50, "       " + "b" * 57], id="one sign too many"),
        pytest.param(
            ("a" * 50, "b" * 55, "c"),
            ["  " + "a" * 50 + "  " + "b" * 55, "       c"],
            id="what fits stays, its columns two apart",
        ),
        pytest.param(
            ("a" * 50, "b" * 56, "c"),
            ["  " + "a" * 50 + "  " + "b" * 56, "        c"],
            id="what fills the line stays",
        ),
        pytest.param(("a" * 109,), ["  " + "a" * 108, "      a"], id="a word without a blank"),
        pytest.param(("a" * 108, "b"), ["  " + "a" * 108, "        b"], id="a first word that fills the line"),
        pytest.param(("", "a" * 109), ["  " + " " * 2 + "a" * 106, "      aaa"], id="blanks alone before a long word"),
        pytest.param(("a " + "b" * 120,), ["  a", "       " + "b" * 103, "          " + "b" * 17], id="after one sign"),
        pytest.param(
            ("a", "b" * 120), ["  a", "       " + "b" * 103, "          " + "b" * 17], id="a second long word"
        ),
    ],
)
def test_a_row_too_wide_goes_on_four_further_in(row: tuple[str, ...], lines: list[str]) -> None:
    """What is left of the blanks between two columns where the line ends moves what follows."""
    assert list(table([row])) == lines
    assert all(len(line) <= WIDTH for line in lines)


def test_a_row_is_not_broken_in_the_blanks_before_its_first_word() -> None:
    assert list(table([("x" * 105, "y")], 6)) == ["      " + "x" * 104, "          x  y"]
    assert list(table([("x" * 104, "y")], 6)) == ["      " + "x" * 104, "            y"]


def test_numbers_below_zero_stand_in_brackets() -> None:
    assert [put(text) for text in ("1.5 g", "0", "-1.5 g")] == ["1.5 g", "0", "(-1.5 g)"]


def test_a_factor_between_units_is_exact_and_left_out_where_it_is_one() -> None:
    assert turned("ug/L", "mg/L") == " x 1/1000 (µg/L to mg/L)"
    assert turned("mg/L", "ug/L") == " x 1000 (mg/L to µg/L)"
    assert turned("ug/g", "mg/kg") == turned("mg/L", "mg/L") == ""


def test_neighbours_run_together_and_every_number_stands_once() -> None:
    assert spans([]) == ""
    assert spans([3]) == "3"
    assert spans([2, 1]) == "1 to 2"
    assert spans([7, 1, 2, 3, 5, 5, 8]) == "1 to 3, 5, 7 to 8"
    assert spans([9, 4, 5, 6]) == "4 to 6, 9"


def test_one_is_singular_and_the_rest_is_not() -> None:
    assert [counted(count, "reading") for count in (0, 1, 2)] == ["0 readings", "1 reading", "2 readings"]
    assert [counted(count, "series", "series") for count in (1, 2)] == ["1 series", "2 series"]
