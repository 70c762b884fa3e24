"""Questions over time on a site of many invented runs: which values count, in which order, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.desk.over_time import ANA, QUIET, Over

from benchseal.compute.control_chart import WISHED_BASE
from benchseal.desk.histories import (
    Asked,
    Series,
    acts_of,
    check_series,
    require_instrument,
    require_method,
    require_person,
    runs_of,
    sensitivity_series,
)
from benchseal.desk.rebuilding import rebuild_site
from benchseal.problems import Stopped
from benchseal.store.replay import differences, replayed

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.conftest import Bench

    from benchseal.compute.history_chart import Chart, Value
    from benchseal.store.sqlite import SqliteReading

METHOD = "pb-furnace"
STANDARD = Asked(METHOD, "check-standard")


@pytest.fixture
def over(bench: Bench) -> Over:
    return Over(bench.site)


def series(over: Over, asked: Asked = STANDARD) -> tuple[Series, ...]:
    with over.site.store.reading() as view:
        return check_series(view, asked, ("western_electric",))


def chart(over: Over, asked: Asked = STANDARD) -> Chart:
    (one,) = series(over, asked)
    return one.chart


def sensitivities(over: Over, asked: Asked = Asked(METHOD)) -> tuple[Series, ...]:  # noqa: B008  frozen
    with over.site.store.reading() as view:
        return sensitivity_series(view, asked, ("western_electric",))


def found(of: Chart) -> list[tuple[str, int]]:
    """Run and version of each value."""
    return [(one.run, one.version) for one in of.values]


def percent(of: Value) -> int:
    return round(float(of.found))


def limits(of: Chart) -> list[tuple[str, str, int]]:
    return [(one.lot, one.base, one.limits.base if one.limits else 0) for one in of.stretches]


# ------------------------------------------------------------------ what counts


def test_a_chart_over_runs_and_a_new_lot(over: Over) -> None:
    for n in range(WISHED_BASE + 2):
        over.run(QUIET[n % 10])
    before = chart(over)
    for _ in range(3):
        over.run(10.6, lot="PB-NEW")
    after = chart(over)
    assert limits(before) == [("PB-CAL", "frozen", WISHED_BASE)]
    assert limits(after) == [("PB-CAL", "frozen", WISHED_BASE), ("PB-NEW", "none", 0)]
    assert after.stretches[0] == before.stretches[0]
    first = after.values[0]
    assert (first.position, first.expected, first.unit, first.low, first.high, first.verdict) == (
        9, "10", "%", "90", "110", "pass",
    )  # fmt: skip
    assert first.expected_unit == "ug/L"
    assert percent(first) == 99


def test_a_second_source_is_held_by_both_lots(over: Over) -> None:
    over.run()
    assert [one.lot for one in chart(over, Asked(METHOD, "second-source")).values] == ["PB-CAL + PB-SEC"]


def test_a_file_that_comes_in_late_takes_its_place_in_time(over: Over) -> None:
    for n in range(WISHED_BASE + 1):
        over.run(QUIET[n % 10], day=n + 2)
    assert chart(over).stretches[0].late == ()
    late = over.run(10.4, day=1)
    of = chart(over)
    assert of.values[0].run == late
    assert (of.stretches[0].late, of.stretches[0].base_runs[0]) == ((late,), late)


def test_a_failed_check_of_a_run_that_gave_nothing_is_on_the_chart(over: Over) -> None:
    run = over.run(8.0)
    with over.site.store.reading() as view:
        row = view.row("run", run=run)
    assert row is not None
    assert row["usable"] == 0
    assert [one.verdict for one in chart(over).values] == ["fail"]
    assert "79." in chart(over).values[0].why


def test_a_cancelled_run_is_not(over: Over) -> None:
    over.run()
    gone = over.run(9.5)
    over.cancelled(gone)
    assert found(chart(over)) == [("R-00001", 0)]
    assert [one.run for one in sensitivities(over)[0].chart.values] == ["R-00001"]


def test_of_a_run_never_reviewed_the_latest_calculation_counts(over: Over) -> None:
    run = over.run(9.5)
    first = chart(over).values[0]
    over.again(run, 10.5)
    (second,) = chart(over).values
    assert (percent(first), percent(second)) == (95, 105)


def test_of_a_reviewed_run_the_reviewed_version_counts_until_a_new_one_is(over: Over) -> None:
    run = over.run(9.5)
    over.reviewed(run, 1)
    over.again(run, 10.5)
    assert [(percent(one), one.version) for one in chart(over).values] == [(95, 1)]
    over.reviewed(run, 2)
    assert [(percent(one), one.version) for one in chart(over).values] == [(105, 2)]


def test_a_check_that_was_lost_is_listed_without_a_value(over: Over) -> None:
    over.run(None)
    (value,) = chart(over).values
    assert (value.found, value.verdict) == ("", "not_evaluated")
    assert value.why
    assert chart(over).stretches == ()


def test_instruments_are_never_mixed(over: Over) -> None:
    over.run(9.9)
    over.run(10.1, instrument="AA-2")
    assert [(one.instrument, len(one.chart.values)) for one in series(over)] == [("AA-1", 1), ("AA-2", 1)]
    (one,) = series(over, replace(STANDARD, instrument="AA-2"))
    assert (one.instrument, found(one.chart)) == ("AA-2", [("R-00002", 0)])


def test_another_unit_starts_a_base_of_its_own(over: Over) -> None:
    """A new version of the method counts in mg/L: its blanks stand on no limits of those in ug/L."""
    for _ in range(2):
        over.run()
    blank = next(one for one in over.method.checks if one.id == "check-blank")
    checks = tuple(replace(one, high="0.05") if one == blank else one for one in over.method.checks)
    over.version(replace(over.method, solution_unit="mg/L", checks=checks), 2)
    over.run()
    of = chart(over, Asked(METHOD, "check-blank"))
    assert [(one.unit, one.n) for one in of.stretches] == [("ug/L", 2), ("mg/L", 1)]
    assert [one.letter for one in of.stretches] == ["A", "B"]


def test_another_expected_value_in_the_solution_starts_a_base_of_its_own(over: Over) -> None:
    checks = tuple(
        replace(one, limit_in="solution", low="9", high="11") if one.id == "check-standard" else one
        for one in over.method.checks
    )
    over.version(replace(over.method, checks=checks), 2)
    over.run(10.0)
    other = tuple(replace(one, expected="5") if one.id == "check-standard" else one for one in checks)
    over.version(replace(over.method, checks=other), 3)
    over.run(5.0)
    assert [(one.basis, one.n) for one in chart(over).stretches] == [("10", 1), ("5", 1)]


# ------------------------------------------------------------------ whose numbers


def test_of_checks_on_customers_samples_percent_and_verdict_only(over: Over) -> None:
    over.run()
    (value,) = chart(over, Asked(METHOD, "portions-agree")).values
    assert (value.unit, value.verdict) == ("%", "pass")
    assert value.found
    assert (value.position, value.expected, value.expected_unit, value.why) == (0, "", "", "")


def test_without_a_rule_those_of_the_method(over: Over) -> None:
    over.run()
    assert [one.rule for one in series(over, Asked(METHOD))] == [
        "second-source", "check-standard", "check-blank", "portions-agree", "sensitivity",
    ]  # fmt: skip
    assert chart(over, Asked(METHOD, "calibration.r_squared")).values[0].found.startswith("0.9")


# ------------------------------------------------------------------ sensitivity


def test_sensitivity_is_the_characteristic_mass_of_each_curve(over: Over) -> None:
    """0.0044 x 20 uL / 2.93 per mg/L is 30.03 pg; half the slope is twice the mass (IUPAC, from memory)."""
    over.run()
    over.run(slope=0.5)
    (one,) = sensitivities(over)
    full, half = one.chart.values
    assert (full.unit, full.basis, full.slope_unit) == ("pg", "A s", "A s/(ug/L)")
    assert abs(float(full.slope) - 0.00293) < 0.00003
    assert abs(float(full.found) - 0.0044 * 20 / 2.93 * 1000) < 0.3
    assert abs(float(half.found) / float(full.found) - 2) < 0.02
    assert full.found == chart_found(over, "R-00001")


def chart_found(over: Over, run: str) -> str:
    """Characteristic mass of a run by its own sensitivity check: percent of the usual 38 pg, from the record."""
    value = next(one for one in chart(over, Asked(METHOD, "sensitivity")).values if one.run == run)
    mass = next(one for one in sensitivities(over)[0].chart.values if one.run == run)
    assert abs(float(value.found) * 0.38 - float(mass.found)) < 1e-8
    return mass.found


def test_a_flat_curve_has_no_sensitivity_and_says_why(over: Over) -> None:
    over.version(replace(over.method, conditions=replace(over.method.conditions, injection_ul="")), 2)
    over.run()
    (value,) = sensitivities(over)[0].chart.values
    assert (value.found, value.why) == ("", "the method does not say how much is injected")


def test_a_flame_has_a_characteristic_concentration(over: Over) -> None:
    over.version(replace(over.method, technique="flame"), 2)
    over.run()
    (value,) = sensitivities(over)[0].chart.values
    assert value.unit == "ug/L"
    assert abs(float(value.found) - 0.0044 / 0.00293) < 0.015


# ------------------------------------------------------------------ refusals


@pytest.mark.parametrize(
    ("asked", "codes"),
    [
        pytest.param(Asked("nope"), ["document.unknown"], id="method"),
        pytest.param(Asked(METHOD, "nope"), ["history.rule-unknown"], id="rule"),
        pytest.param(Asked(METHOD, instrument="nope"), ["history.instrument-unknown"], id="instrument"),
        pytest.param(Asked(METHOD, lot="nope"), ["history.lot-unknown"], id="lot"),
        pytest.param(Asked(METHOD, first="2026-2-1"), ["history.date"], id="a day written otherwise"),
        pytest.param(Asked(METHOD, last="2026-02-30"), ["history.date"], id="a day that is none"),
        pytest.param(Asked(METHOD, first="2026-03-02", last="2026-03-01"), ["history.date-order"], id="backwards"),
        pytest.param(
            Asked("nope", "nope", "nope", "nope", "1", "2"),
            ["document.unknown", "history.instrument-unknown", "history.lot-unknown", "history.date", "history.date"],
            id="all at once",
        ),
    ],
)
def test_what_is_not_there_is_refused(over: Over, asked: Asked, codes: list[str]) -> None:
    over.run()
    with pytest.raises(Stopped) as stop:
        series(over, asked)
    assert [one.code for one in stop.value.notices] == codes
    assert all(one.what and one.remedy for one in stop.value.notices)


def test_an_unknown_rule_names_those_there_are(over: Over) -> None:
    over.run()
    with pytest.raises(Stopped, match=r"check-standard, check-blank, portions-agree, sensitivity, calibration\.levels"):
        series(over, Asked(METHOD, "nope"))


def test_known_things_without_values_are_no_mistake(over: Over) -> None:
    assert series(over) == ()
    assert sensitivities(over) == ()
    over.run()
    gone = tuple(one for one in over.method.checks if one.id != "check-standard")
    over.version(replace(over.method, checks=gone), 2)
    assert found(chart(over)) == [("R-00001", 0)]  # a check that the method no longer has


def test_a_person_is_found_with_and_without_the_prefix(over: Over) -> None:
    with over.site.store.reading() as view:
        name = view.rows("person")[0]["person"]
        assert require_person(view, name) == require_person(view, name.removeprefix("p-")) == name


@pytest.mark.parametrize(
    ("require", "code"),
    [
        pytest.param(require_instrument, "history.instrument-unknown", id="instrument"),
        pytest.param(require_method, "document.unknown", id="method"),
        pytest.param(require_person, "person.unknown", id="person"),
    ],
)
def test_lists_of_what_is_not_there_are_refused(
    over: Over, require: Callable[[SqliteReading, str], Any], code: str
) -> None:
    with over.site.store.reading() as view, pytest.raises(Stopped) as stop:
        require(view, "nope")
    assert [one.code for one in stop.value.notices] == [code]


def test_runs_and_acts_in_order(over: Over) -> None:
    over.run(day=9)
    over.run(day=3, instrument="AA-2")
    over.reviewed("R-00001", 1)
    with over.site.store.reading() as view:
        assert [row["run"] for row in runs_of(view, method=METHOD)] == ["R-00002", "R-00001"]
        assert [row["run"] for row in runs_of(view, instrument="AA-1")] == ["R-00001"]
        assert [act[2:] for act in acts_of(view, "p-ben.marsh")] == [("run.reviewed", "run/R-00001", "reviewed")]
        ana = [act[2] for act in acts_of(view, ANA)]
    assert ana.count("run.ingested") == 2


# ------------------------------------------------------------------ derived rows


def test_replay_gives_the_same_rows_and_rebuild_the_same_charts(over: Over) -> None:
    for n in range(12):
        over.run(QUIET[n % 10])
    over.again("R-00003", 10.5)
    over.reviewed("R-00003", 1)
    over.again("R-00003", 10.7)
    before = series(over, Asked(METHOD)), sensitivities(over)
    with over.site.store.reading() as view:
        assert len(view.rows("calculation")) == 14
        again = replayed(view, over.site.ledger)
        with again.reading() as model:
            assert differences(view, model) == ()
        again.close()
    with over.site.store.writing() as tx:
        tx._connection.exec_driver_sql("DELETE FROM calculation WHERE run = 'R-00002'")  # noqa: SLF001  a database shell
    assert series(over, Asked(METHOD)) != before[0]
    assert rebuild_site(over.site) == 1
    assert (series(over, Asked(METHOD)), sensitivities(over)) == before


@pytest.mark.parametrize(("column", "ask"), [("checks", series), ("calibration", sensitivities)])
def test_a_damaged_row_is_a_finding(over: Over, column: str, ask: Callable[..., object]) -> None:
    over.run()
    with over.site.store.writing() as tx:
        tx._connection.exec_driver_sql(f"UPDATE calculation SET {column} = 'x'")  # noqa: S608, SLF001  a database shell
    with pytest.raises(Stopped) as stop:
        ask(over)
    assert [(one.code, one.where) for one in stop.value.notices] == [("integrity.derived-row", "calculation R-00001")]
