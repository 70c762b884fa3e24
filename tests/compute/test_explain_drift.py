"""A worked calculation with a correction for drift: every formula gives its value, and what is wrong is seen."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.drifting import OPEN, TWO, State, around, check, drifting, pair, sample, shots_of, timed, zero
from tests.compute.making import BRACKETS, Shot, bench_of, pb_method, portion_of, run_of
from tests.compute.test_explain_formulas import around_of, read
from tests.compute.test_explain_reader import WrongError

from benchseal.compute.explain import explain
from benchseal.compute.explain_around import Around
from benchseal.compute.run_work import work_run
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import BelowLimit, Quantified, RunWork

if TYPE_CHECKING:
    from benchseal.records.method import Method

OF_A_PORTION = ("f", "B", "S", "F", "Ac", "r", "u(Ac)", "c")
OF_PAIRS = ("B1", "S1", "B2", "S2", "B3", "S3")
STEPS = {"Pb": (DilutionStep("5", "100"),)}


def three_pairs(method: Method, holds: float = 8.0, end: State | None = None, **fields: Any) -> Around:  # noqa: ANN401
    """A blank and a portion between the first two pairs, a portion between the second and the third."""
    last = end or State(0.94, -0.001)
    half = State((1 + last.gain) / 2, last.zero / 2)
    portions = [portion_of(label, **fields) for label in "VW"]
    blank = portion_of("MB", "", kind="method_blank", mass_g="")
    shots = (
        *pair(),
        sample("MB", 0.2, kind="method_blank"),
        sample("V", holds),
        *pair(half),
        check(half, signals=around(half.signal(10.0), 0.00007, 4)),
        sample("W", holds * 1.02, half),
        *pair(last),
    )
    wide = tuple(replace(one, low="80" if one.low else "", high="120" if one.low else "2") for one in BRACKETS)
    return around_of(shots_of(*shots), replace(method, checks=wide), [*portions, blank], [TWO])


def text_of(of: Around) -> str:
    return " ".join(" ".join(explain(of)).split())


@pytest.mark.parametrize("subtraction", ["none", "undiluted"])
def test_every_formula_gives_its_value(subtraction: Literal["none", "undiluted"]) -> None:
    of = three_pairs(drifting(blank_subtraction=subtraction), dilutions=STEPS)
    assert isinstance(of.results[0].outcome, Quantified)
    found = read(of)
    assert {name: found[name] for name in OF_A_PORTION} == dict.fromkeys(OF_A_PORTION, 2)
    assert {name: found[name] for name in OF_PAIRS} == dict.fromkeys(OF_PAIRS, 1)
    assert (found["drift"], found["mean reading"], found["s standards"], found["s blanks"]) == (2, 2, 1, 1)
    assert found["u"] == found["effective degrees of freedom"] == 1
    text = text_of(of)
    assert "Pair 1, positions 8 to 9, the first one" in text
    assert "check standard CS, position 8, lines 31 to 33 of invented.txt: readings 0.030700000000" in text
    assert "4 solutions, 9 degrees of freedom" in text
    assert "at most 10 % from the first pair" in text
    assert "source of the correction for drift: common practice, no source" in text
    assert "corrected for drift between pair 2 (positions 12 to 14) and pair 3" in text
    assert "from readings, curve and the checks it is corrected by" in text
    assert "what corrects for drift has those of the checks' readings" in text
    assert ("read undiluted, corrected for drift" in text) is (subtraction == "undiluted")


def test_a_baseline_below_zero() -> None:
    of = three_pairs(drifting(), end=State(0.97, -0.0035))
    assert "- (-0.00" in text_of(of)
    read(of)


def test_by_time() -> None:
    shots = shots_of(*pair(), sample("V", 8.0), *pair(State(0.95)))
    run = timed(run_of(shots, drifting()), [*(20 * place for place in range(7)), 900, 930, 1640, 1867, 1890])
    bench = bench_of([portion_of("V")], [OPEN])
    work = work_run(run, bench)
    assert isinstance(work, RunWork)
    of = Around("R-00001", run, work, bench.specifications["lozenge"][1], "S-00001", "L-S-00001")
    assert "share of the way, by time f = 725.000000000 / 963.500000000" in text_of(of)
    assert read(of)["f"] == 1


def test_a_curve_that_bends() -> None:
    of = three_pairs(drifting(calibration=replace(pb_method().calibration, model="quadratic")))
    assert "2 (Ac - b0) / (b1 + √(b1² - 4 b2 (b0 - Ac)))" in text_of(of)
    assert read(of)["c"] == 2


def test_below_the_limit() -> None:
    of = three_pairs(drifting(), holds=0.5)
    assert isinstance(of.results[0].outcome, BelowLimit)
    assert read(of)["Ac"] == 2


def test_a_reading_without_two_pairs_shows_what_was_read() -> None:
    of = around_of(shots_of(sample("V", 8.0), *pair()), drifting(), [portion_of("V")], [OPEN])
    text = text_of(of)
    assert "no value: no check standard with a check blank was read before it since the calibration" in text
    found = read(of)
    assert (found["A"], found["Ac"], found["c"], found["s standards"], found["S1"]) == (2, 0, 0, 0, 1)


def test_no_pair_at_all() -> None:
    loose = tuple(replace(one, required=False) for one in BRACKETS)
    of = around_of(shots_of(check(), sample("V", 8.0)), drifting(checks=loose), [portion_of("V")], [OPEN])
    assert "No check standard was read together with a check blank after the calibration." in text_of(of)
    read(of)


def test_a_pair_too_far_away_is_shown() -> None:
    wide = tuple(replace(one, low="70" if one.low else "", high="130" if one.low else "2") for one in BRACKETS)
    shots = (*pair(), sample("V", 8.0), *pair(State(0.88)))
    of = around_of(shots_of(*shots), drifting(checks=wide), [portion_of("V")], [OPEN])
    found = read(of)
    assert (found["drift"], found["Ac"]) == (1, 0)
    assert "has drifted from the first one by -12 %; limit -10 to 10 %" in text_of(of)


def test_a_first_pair_that_reads_no_net_standard() -> None:
    dead = (check(signals=around(0.001)), zero())
    wide = tuple(replace(one, low="-50" if one.low else "", high="130" if one.low else "2") for one in BRACKETS)
    of = around_of(shots_of(*dead, sample("V", 8.0), *pair()), drifting(checks=wide), [portion_of("V")], [OPEN])
    assert read(of)["drift"] == 0


def test_a_rinse_within_a_pair_is_not_shown_as_a_check() -> None:
    one, other = pair()
    rinse = Shot("rinse", "RINSE", signals=around(0.0015))
    of = around_of(shots_of(one, rinse, other, sample("V", 8.0), *pair()), drifting(), [portion_of("V")], [OPEN])
    assert "RINSE" not in text_of(of).split("Readings Portion")[0]
    assert read(of)["S1"] == 1


def test_other_methods_say_nothing_of_it() -> None:
    assert "drift" not in text_of(three_pairs(drifting("")))


@settings(max_examples=25, deadline=None)
@given(st.floats(0.3, 18.0), st.floats(0.92, 1.08), st.floats(-0.002, 0.002))
def test_whatever_was_read(holds: float, gain: float, added: float) -> None:
    read(three_pairs(drifting(), holds, State(gain, added)))


@pytest.mark.parametrize("name", ["B1", "S1", "S2", "drift", "s standards", "s blanks", *OF_A_PORTION])
def test_a_wrong_number_is_seen(name: str) -> None:
    """A late digit of the printed value, changed."""
    of = three_pairs(drifting())
    lines = list(explain(of))
    start = next(at for at, line in enumerate(lines) if line.strip() == name or line.strip().startswith(f"{name} = "))
    last = start
    while lines[last + 1].strip().startswith(("= ", "+ ", "- ", "/ ", "x ")):
        last += 1
    value = lines[last].strip().removeprefix("= ").split()[0]
    changed = f"{value[:-4]}{(int(value[-4]) + 1) % 10}{value[-3:]}"
    lines[last] = lines[last].replace(value, changed)
    with pytest.raises(WrongError):
        read(of, lines)
