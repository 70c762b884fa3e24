"""Guesses about columns by what their cells hold beside each other: counters, codes of kinds, concentrations given."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from benchseal.ingest.guess_rows import counter_with_words
from benchseal.ingest.numbers import plain_number
from benchseal.ingest.trade_words import CODES, DOUBTS, EITHER, KINDS, MEAN, MISSING, SPREAD, SYMBOLS, bare

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.ingest.guess_table import Cut

_LONGEST_CODE = 16


def rows_read(lines: Sequence[str], cut: Cut) -> list[list[str]]:
    """The cells of all rows of readings, without rows of means and spreads; names left out below are carried down."""
    if cut.turned:
        columns = [cut.cells(lines[row])[1:] for row in cut.blocks[0].rows]
        return [list(cells) for cells in zip(*columns, strict=True)]
    rows = [cells for cells, is_mean in rows_told(lines, cut) if not is_mean]
    carried = carried_columns(rows)
    above: list[str] = []
    for cells in rows:
        if carried and above and not any(cells[nth] for nth in carried):
            for nth in carried:
                cells[nth] = above[nth]
        above = cells
    return rows


def rows_told(lines: Sequence[str], cut: Cut) -> list[tuple[list[str], bool]]:
    """The cells of all rows, each with whether it is one of means or spreads, or none the readings count."""
    rows = [cut.cells(lines[row].lstrip("\f")) for block in cut.blocks for row in block.rows]
    counter = counter_with_words(rows)
    told: list[bool] = []
    plain: list[str] = []  # the row of readings above
    for nth, cells in enumerate(rows):
        words = [cell for cell in cells if is_mean_word(cell)]
        again = nth > 0 and any(word in rows[nth - 1] for word in words)
        is_mean = bool(words and plain and not again and _same_solution(cells, plain))
        is_mean |= counter is not None and cells[counter.column] in counter.words
        plain = plain if is_mean else cells
        told.append(is_mean)
    return list(zip(rows, told, strict=True))


def _same_solution(cells: Sequence[str], above: Sequence[str]) -> bool:
    """Whether a row repeats the words of the row above, or leaves them out; its own word for means stands anywhere."""
    pairs = [(one, two) for one, two in zip(cells, above, strict=True) if one and two and not is_mean_word(one)]
    return all(one == two for one, two in pairs if any(map(str.isalpha, one + two)))


@lru_cache(maxsize=4096)
def is_mean_word(text: str) -> bool:
    """Whether a cell may tell a row of means or of spreads."""
    return bool(text) and (bare(text) in MEAN | SPREAD or text.lower() in SPREAD)


def carried_columns(rows: Sequence[Sequence[str]]) -> list[int]:
    """Columns at the left that are blank together in some rows, below a row that fills the first of them."""
    if not rows:
        return []
    used = [nth for nth in range(len(rows[0])) if any(cells[nth] for cells in rows)]
    if not used or not rows[0][used[0]]:
        return []
    firsts = [next((nth for nth in used if cells[nth]), used[0]) for cells in rows if not cells[used[0]]]
    return [nth for nth in used if nth < min(firsts)] if firsts else []


def counts_solutions(cells: Sequence[str]) -> bool:
    """Whether cells count from 1, each as often as it likes: 1 1 1 2 2 2 3."""
    numbers = _whole(cells)
    steps = all(later - before in {0, 1} for before, later in pairwise(numbers))
    return len(numbers) > 2 and numbers[0] == 1 and numbers[-1] > 1 and steps


def counts_readings(cells: Sequence[str]) -> bool:
    """Whether cells count from 1 again and again: 1 2 3 1 2 3."""
    numbers = _whole(cells)
    steps = all(later in {before + 1, 1} for before, later in pairwise(numbers))
    return len(numbers) > 2 and numbers[0] == 1 and steps and numbers.count(1) > 1 and max(numbers) > 1


def _whole(cells: Sequence[str]) -> list[int]:
    """The cells as whole numbers; none where one is not."""
    return [int(cell) for cell in cells] if all(re.fullmatch("0{0,5}[1-9][0-9]{0,5}", cell) for cell in cells) else []


@lru_cache(maxsize=4096)
def kind_by_name(name: str) -> str:
    """What kind of solution a name tells; empty where it tells none."""
    return next((kind for kind, pattern in KINDS if re.fullmatch(pattern, name)), "")


def with_doubt(why: str, kind: str) -> str:
    """A reason, with what a person has to ask where the words of a kind are used for another one too."""
    return "; ".join(filter(None, (why, dict(DOUBTS).get(kind, ""))))


def kinds_of_codes(codes: Sequence[str], names: Sequence[str], given: Sequence[str] = ()) -> dict[str, tuple[str, str]]:
    """Each code with the kind it is guessed to mean, and why: by all names that bear it, by the list, by itself.

    Where no code means a sample, the commonest of those nothing tells does; the kind of the others is empty. given: of
    each row the concentration the file gives; a code that has one is none of samples.
    """
    found: dict[str, tuple[str, str]] = {}
    given = given or [""] * len(codes)
    for code in dict.fromkeys(code for code in codes if code):
        bear = dict.fromkeys(name for of, name in zip(codes, names, strict=True) if of == code)
        told = {_kind_of_bearer(name) for name in bear}
        own = "" if code.lower() in EITHER else kind_by_name(code)
        if len(told) == 1 and "" not in told:
            like = ", ".join(list(bear)[:4])
            kind, why = told.pop(), f"a guess from the names with the code '{code}': {like}"
            why += f"; the code itself looks like {own}" if own not in {"", kind} and code.lower() not in CODES else ""
        else:
            kind = CODES.get(code.lower(), "") or own
            why = f"a guess from the code '{code}': {kind}"
        found[code] = kind, with_doubt(why, kind)
    unknown = [code for code, (kind, _) in found.items() if not kind]
    may = [code for code in unknown if not _no_samples(code, codes, names, given)]
    if may and "sample" not in {kind for kind, _ in found.values()}:
        most = max(may, key=list(codes).count)
        filled = [code for code in codes if code]
        bear_it = f"{filled.count(most)} of {len(filled)} rows bear it"
        also = ", ".join(f"'{code}'" for code in may if code != most)
        among = f", nor {also}, of which fewer or as many rows bear each" if also else ""
        why = f"a guess: no code is known for samples. No list knows '{most}' ({bear_it}){among}"
        found[most] = "sample", why
    return found


def _kind_of_bearer(name: str) -> str:
    """What kind a name tells, also behind the symbol of an element: ``Ni-S1``."""
    found = re.fullmatch(r"([A-Z][a-z]?)[-_ ]+(.+)", name)
    return kind_by_name(name) or (kind_by_name(found[2]) if found and found[1] in SYMBOLS else "")


def _no_samples(code: str, codes: Sequence[str], names: Sequence[str], given: Sequence[str]) -> bool:
    """Whether a code cannot be that of samples: a name that bears it tells a kind, or a concentration is given."""
    rows = [nth for nth, of in enumerate(codes) if of == code]
    told = any(_kind_of_bearer(names[nth]) or any(map(str.isdigit, given[nth])) for nth in rows)
    return told or code.lower() in EITHER


def holds_codes(cells: Sequence[str], names: Sequence[str]) -> bool:
    """Whether cells are codes of kinds: few, with letters, and of two kinds at least that names or the list tell."""
    codes = set(cells)
    if not all(cell and len(cell) <= _LONGEST_CODE and any(map(str.isalpha, cell)) for cell in codes):
        return False
    if len(codes) > 12 or len(codes) >= len(set(names)):
        return False
    listed = {CODES[code.lower()] for code in codes if code.lower() in CODES}
    pairs = set(zip(cells, names, strict=True))
    told = {code: {kind_by_name(name) for of, name in pairs if of == code} for code in codes}
    if len(listed) >= 2 and _one_each(cells, names, [""] * len(cells)):
        return True
    sure = {kinds.pop() for kinds in told.values() if len(kinds) == 1}
    return all(len(kinds) <= 1 for kinds in told.values()) and len(sure - {""}) >= 2


def holds_given(
    cells: Sequence[str], names: Sequence[str], kinds: Sequence[str], is_number: Callable[[str], bool]
) -> bool:
    """Whether cells are concentrations given to standards.

    Each solution has one; standards have different ones, blanks none or zero, samples none.
    """
    blank = {nth for nth, cell in enumerate(cells) if not cell or cell.lower() in MISSING}
    if not all(nth in blank or is_number(cell) for nth, cell in enumerate(cells)):
        return False
    if not _one_each(cells, names, kinds):
        return False
    standards = {cell for cell, kind in zip(cells, kinds, strict=True) if kind == "standard"}
    standards = set(filter(is_number, standards))  # a second source may have none
    empty = all(nth in blank for nth, kind in enumerate(kinds) if kind == "sample")
    zero = all(
        nth in blank or not cells[nth].strip("0.,") for nth, kind in enumerate(kinds) if kind == "calibration_blank"
    )
    return len(standards) > 1 and empty and zero


def holds_factors(cells: Sequence[str], names: Sequence[str], kinds: Sequence[str]) -> bool:
    """Whether cells are factors of extra dilution: whole, one for each solution, 1 for all but samples."""
    if not _whole(cells) or not _one_each(cells, names, kinds):
        return False
    others = {cell for cell, kind in zip(cells, kinds, strict=True) if kind != "sample"}
    return others == {"1"} and set(cells) != {"1"}


def _one_each(cells: Sequence[str], names: Sequence[str], kinds: Sequence[str]) -> bool:
    """Whether each solution has one text in all its rows."""
    of_name: dict[tuple[str, str], set[str]] = {}
    for name, kind, cell in zip(names, kinds, cells, strict=True):
        of_name.setdefault((name, kind), set()).add(cell)
    return all(len(each) == 1 for each in of_name.values())


def have_means(columns: Sequence[Sequence[str]], means: Sequence[str], mark: str) -> bool:
    """Whether numbers beside each other have these means, to one unit of the last place, in nine rows of ten.

    Rows that hold a word count for nothing; at least two hold none.
    """
    fits = rows = 0
    for *cells, mean in zip(*columns, means, strict=True):
        numbers = [plain_number(cell, cast("object", mark), "") for cell in (*cells, mean)]  # type: ignore[arg-type]
        if all(numbers):
            *read, printed = (Decimal(number) for number in numbers if number)
            place = Decimal(1).scaleb(printed.as_tuple().exponent)  # type: ignore[arg-type]  # finite
            fits += abs(sum(read, Decimal(0)) / len(read) - printed) <= place
            rows += 1
    return len(columns) > 1 and rows > 1 and 10 * fits >= 9 * rows


def differ_too(columns: Sequence[Sequence[str]], taken: int, mark: str) -> str:
    """Other columns of numbers that differ from row to row, in words; empty where there is none."""
    others = [
        f"column {nth + 1}"
        for nth, cells in enumerate(columns)
        if nth != taken
        and 2 * len(set(cells)) > len(cells)
        and all(plain_number(cell, cast("object", mark), "") is not None for cell in cells)  # type: ignore[arg-type]
    ]
    return f"; {', '.join(others)} also {'differs' if len(others) == 1 else 'differ'}" if others else ""
