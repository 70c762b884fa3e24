"""What `benchseal history` prints: charts in plain signs, findings with their exit code, and one object for scripts."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.test_history_chart import TWENTY, charted, row, value
from tests.conftest import SECRETS
from tests.desk.over_time import QUIET, Over
from tests.journeys.commands import pipe_of

from benchseal.cli import main
from benchseal.cli.history_words import chart_json, chart_lines, field_of
from benchseal.compute.control_chart import Limits
from benchseal.compute.history_chart import Stretch, shown_part
from benchseal.desk.histories import Series
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.conftest import Bench

    from benchseal.compute.history_chart import Chart

ANA = "p-ana.keel"
LIMITS = Limits(Fraction(100), Fraction(2), 20)


# ------------------------------------------------------------------ signs


def drawn(found: str) -> str:
    stretch = Stretch("B", "L-1", "%", "", 20, (0,), LIMITS, "frozen")
    return field_of(value(1, found), stretch)


@pytest.mark.parametrize(
    ("found", "field"),
    [
        pytest.param("100", "|   :   .   B   .   :   |", id="centre"),
        pytest.param("102", "|   :   .   |   B   :   |", id="one s above"),
        pytest.param("96", "|   B   .   |   .   :   |", id="two s below"),
        pytest.param("106", "|   :   .   |   .   :   B", id="on the upper line"),
        pytest.param("94", "B   :   .   |   .   :   |", id="on the lower line"),
        pytest.param("106.0001", "|   :   .   |   .   :   >", id="just beyond the upper line"),
        pytest.param("93.9999", "<   :   .   |   .   :   |", id="just beyond the lower line"),
        pytest.param("900", "|   :   .   |   .   :   >", id="far beyond"),
        pytest.param("", "", id="no number"),
    ],
)
def test_the_place_of_a_value(found: str, field: str) -> None:
    assert drawn(found) == field


def test_without_limits_there_is_no_place() -> None:
    assert field_of(value(1, "100"), None) == ""
    assert field_of(value(1, "100"), Stretch("A", "L-1", "%", "", 1, (0,))) == ""


@pytest.mark.parametrize("s", [Fraction(1, 10**9), Fraction(1, 3), Fraction(10**9)])
def test_every_place_lies_in_the_field(s: Fraction) -> None:
    limits = Limits(Fraction(0), s, 20)
    for tenths in range(-45, 46):
        stretch = Stretch("A", "L-1", "%", "", 20, (0,), limits, "frozen")
        field = field_of(value(1, f"{float(s * tenths / 10):.15f}"), stretch)
        assert len(field) == 25
        assert sum(field.count(sign) for sign in "A<>") == 1


def checks(chart: Chart) -> Series:
    return Series("cs", "check_standard", "AA-1", chart)


def test_a_whole_chart_stands_in_its_order() -> None:
    """By hand: the base is ten values twice, s² = 2 x 4.22/19, so 99 lies 1.5 s below the centre."""
    first = [replace(one, expected="10", verdict="pass") for one in row((*TWENTY, "104"))]
    new = row(["98", "99"], 22, lot="L-2", expected="10", verdict="pass")
    chart = charted(*first, *new, replace(value(24, ""), verdict="not_evaluated"))
    text = list(chart_lines(checks(chart), chart, "lead"))
    assert text[:8] == [
        "cs (check standard) by lead on AA-1, %",
        "  lot A is L-1; 21 values",
        "    limits from its first 20 values, R-00001 to R-00020; frozen",
        "    centre 100.00, s 0.666; 2 s 98.67 to 101.33; 3 s 98.00 to 102.00",
        "  lot B is L-2; 2 values",
        "    no limits: they need at least 10 values, better 20; there are 2.",
        "  run      place  measured (UTC)     found  expected  verdict     lot  -3 -2  -1   0  +1  +2  +3 s",
        "  R-00001      9  2026-01-02 08:00   99.00        10  pass        A    |   : A .   |   .   :   |",
    ]
    assert text[27:] == [
        "  R-00021      9  2026-01-22 08:00  104.00        10  pass        A    |   :   .   |   .   :   > *",
        "  R-00022      9  2026-01-23 08:00      98        10  pass        B",
        "  R-00023      9  2026-01-24 08:00      99        10  pass        B",
        "  R-00024      9  2026-01-25 08:00       -            not judged  A",
        "  broken, lot A: R-00021 at 9: a value beyond 3 s (western_electric 1)",
    ]
    assert all(line.isascii() for line in text)


def test_a_base_that_grows_or_came_late_says_so() -> None:
    growing = charted(*row(TWENTY[:12]))
    assert "limits from its 12 values so far, R-00001 to R-00012; they move until 20 are there" in "\n".join(
        chart_lines(checks(growing), growing, "lead")
    )
    late = charted(*(replace(one, entry=99 if n == 2 else n) for n, one in enumerate(row((*TWENTY, "100")))))
    assert "came in, or calculated again, after the base was complete: R-00003;" in "\n".join(
        chart_lines(checks(late), late, "lead")
    )


def test_json_has_a_refusal_in_the_place_of_limits() -> None:
    chart = charted(*row(TWENTY), value(21, "50", lot="L-2"))
    found: Any = chart_json(checks(chart), chart)
    before, after = found["lots"]
    assert set(before["limits"]) == {
        "base",
        "base_n",
        "base_runs",
        "centre",
        "s",
        "lines_1_s",
        "lines_2_s",
        "lines_3_s",
    }
    assert after["limits"]["refused"]["code"] == "history.base-too-few"
    assert [one["letter"] for one in found["values"][-2:]] == ["A", "B"]
    assert "away_in_s" in found["values"][0]
    assert "away_in_s" not in found["values"][-1]
    assert json.dumps(found, allow_nan=False)


def test_a_part_keeps_its_letters() -> None:
    chart = charted(*row(TWENTY), value(21, "50", lot="L-2"))
    part = shown_part(chart, lambda one: one.lot == "L-2")
    assert "  lot B is L-2; 1 value" in list(chart_lines(checks(part), part, "lead"))


# ------------------------------------------------------------------ the command


@pytest.fixture
def over(bench: Bench) -> Over:
    return Over(bench.site)


@pytest.fixture
def ask(over: Over, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any) -> Callable[..., Any]:  # noqa: ANN401
    """One question by ana; exit code, output, problems."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))

    def asked(*words: str) -> tuple[int, str, str]:
        secrets = pipe_of(f"{ANA}\n{SECRETS[ANA]}\n")
        capsys.readouterr()
        code = main(["history", *words, "--site", str(over.site.folder), "--secret-fd", str(secrets)])
        said = capsys.readouterr()
        return code, said.out, said.err

    return asked


CHECK = ("check", "--method", "pb-furnace", "--rule", "check-standard")


def test_a_quiet_chart_ends_with_0_and_a_broken_newest_value_with_10(
    over: Over, ask: Callable[..., tuple[int, str, str]]
) -> None:
    for n in range(20):
        over.run(QUIET[n % 10])
    code, out, err = ask(*CHECK)
    assert (code, err) == (0, "")
    assert "limits from its first 20 values, R-00001 to R-00020; frozen" in out
    over.run(10.5)
    code, out, err = ask(*CHECK)
    assert code == 10
    assert err.startswith("history.run-rule-broken: check-standard on AA-1: the newest value, 105 % of R-00021 at 9")
    assert "a value beyond 3 s (western_electric 1)" in err
    assert "  broken, lot A: R-00021 at 9: a value beyond 3 s (western_electric 1), the newest value in it" in out
    assert out.isascii()
    assert "\x1b" not in out
    assert ask(*CHECK, "--quiet")[:2] == (10, "")
    assert ask(*CHECK, "--to", "2026-03-20")[0] == 0  # up to then nothing was broken
    over.run(10.0)
    code, out, _ = ask(*CHECK)
    assert code == 0  # broken before, and said, and over
    assert "broken, lot A: R-00021" in out


def test_charts_go_on_paper_with_the_same_exit_code(
    over: Over, ask: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    first, second = tmp_path / "first.pdf", tmp_path / "second.pdf"
    code, out, err = ask(*CHECK, "--pdf", str(first))
    assert (code, out, err.split(":")[0]) == (5, "", "history.no-chart")
    assert not first.exists()
    for n in range(20):
        over.run(QUIET[n % 10])
    assert ask(*CHECK, "--pdf", str(first)) == (0, f"{first} holds 1 chart of checks by pb-furnace.\n", "")
    assert first.read_bytes().startswith(b"%PDF")
    kept = first.read_bytes()
    assert ask(*CHECK, "--pdf", str(first))[2].startswith("report.exists")
    assert first.read_bytes() == kept
    over.run(10.5)
    code, out, err = ask(*CHECK, "--pdf", str(second), "--paper", "letter", "--json")
    told = json.loads(out)
    assert code == 10
    assert [one["code"] for one in told["problems"]] == ["history.run-rule-broken"]
    assert told["sha256"] == digest(second.read_bytes())
    assert len(told["charts"]) == 1


def test_run_rules_are_chosen(over: Over, ask: Callable[..., tuple[int, str, str]]) -> None:
    for n in range(20):
        over.run(QUIET[n % 10])
    for step in range(6):
        over.run(9.95 + step * 0.02)
    assert "nelson" not in ask(*CHECK)[1]
    assert "six values in a row, each above or each below the one before (nelson 3)" in ask(
        *CHECK, "--run-rules", "nelson"
    )[1]  # fmt: skip
    assert "nelson 3" in ask(*CHECK, "--run-rules", "both")[1]


def test_one_object_for_scripts(over: Over, ask: Callable[..., tuple[int, str, str]]) -> None:
    for n in range(12):
        over.run(QUIET[n % 10])
    code, out, err = ask(*CHECK, "--lot", "PB-CAL", "--from", "2026-03-03", "--json")
    said = json.loads(out)
    assert (code, err, said["schema_version"], said["command"], said["problems"]) == (0, "", 1, "history check", [])
    (chart,) = said["charts"]
    assert (chart["rule"], chart["check"], chart["instrument"]) == ("check-standard", "check_standard", "AA-1")
    assert [one["run"] for one in chart["values"]] == [f"R-{n:05d}" for n in range(3, 13)]
    assert (chart["lots"][0]["n"], chart["lots"][0]["limits"]["base"], chart["lots"][0]["limits"]["base_n"]) == (
        12, "growing", 12,
    )  # fmt: skip
    assert said["said"] == []


@pytest.mark.parametrize("words", [CHECK, ("sensitivity", "--method", "pb-furnace")], ids=lambda words: words[0])
def test_nothing_there_is_an_answer(ask: Callable[..., tuple[int, str, str]], words: tuple[str, ...]) -> None:
    assert ask(*words) == (0, "No value of pb-furnace fits the question.\n", "")
    assert json.loads(ask(*words, "--json")[1])["charts"] == []


def test_refusals_keep_their_exit_codes(over: Over, ask: Callable[..., tuple[int, str, str]]) -> None:
    over.run()
    assert ask("check", "--method", "nope")[0] == 5
    code, out, err = ask(*CHECK, "--from", "March", "--instrument", "nope")
    assert (code, out) == (5, "")
    assert [line.split(":")[0] for line in err.splitlines()] == ["history.instrument-unknown", "history.date"]
    assert ask(*CHECK, "--from", "March")[0] == 4
    with pytest.raises(SystemExit) as end:
        ask("check")
    assert end.value.code == 2


def test_whoever_is_nobody_reads_nothing(over: Over, capsys: pytest.CaptureFixture[str]) -> None:
    secrets = pipe_of(f"{ANA}\nnot the password at all\n")
    given = ["history", *CHECK, "--site", str(over.site.folder), "--secret-fd", str(secrets)]
    assert main(given) == 5
    assert capsys.readouterr().out == ""


def test_sensitivity_that_moved_is_a_finding(over: Over, ask: Callable[..., tuple[int, str, str]]) -> None:
    words = ("sensitivity", "--method", "pb-furnace")
    for _ in range(3):
        over.run()
    code, out, err = ask(*words)
    assert (code, err) == (0, "")
    assert "sensitivity by pb-furnace on AA-1: characteristic mass, pg; slope in A s/(ug/L)" in out
    assert "the newest against its history: earlier values of the same kind: 2; at least 3" in out
    over.run(slope=0.9)
    code, out, _ = ask(*words)
    assert code == 0
    assert "  the newest, R-00004: 33." in out
    assert " % of the mean of 3 earlier values, 30." in out
    over.run(slope=0.7)
    code, _, err = ask(*words)
    assert code == 10
    assert err.startswith("history.sensitivity-moved: sensitivity on AA-1: the newest, R-00005: 4")
    assert "usual 80 to 120 % (common practice, no source)" in err
    said = json.loads(ask(*words, "--json")[1])
    compared = said["charts"][0]["newest_against_history"]
    assert (said["exit"], compared["run"], compared["earlier"], compared["moved"]) == (10, "R-00005", 4, True)
    assert float(compared["percent"]) > 120
    earlier = json.loads(ask(*words, "--to", "2026-03-03", "--json")[1])["charts"][0]["newest_against_history"]
    assert earlier["refused"]["code"] == "history.earlier-too-few"


def test_a_sensitivity_without_a_number_is_listed(over: Over, ask: Callable[..., tuple[int, str, str]]) -> None:
    over.version(replace(over.method, conditions=replace(over.method.conditions, injection_ul="")), 2)
    over.run()
    code, out, _ = ask("sensitivity", "--method", "pb-furnace")
    assert code == 0
    assert "sensitivity by pb-furnace on AA-1: none found; slope in" in out
    assert out.splitlines()[-1].split()[-1] == "-"
    said = json.loads(ask("sensitivity", "--method", "pb-furnace", "--json")[1])
    assert said["charts"][0]["values"][0]["why"] == "the method does not say how much is injected"
    assert "newest_against_history" not in said["charts"][0]


def test_plain_lists(over: Over, ask: Callable[..., tuple[int, str, str]]) -> None:
    over.run()
    over.run(instrument="AA-2")
    assert [line.split()[0] for line in ask("instrument", "AA-2")[1].splitlines()] == ["run", "R-00002"]
    text = ask("method", "pb-furnace")[1]
    assert text.splitlines()[0] == (
        "pb-furnace version 1, draft: Lead by graphite furnace (by p-ana.keel, approved by nobody yet)"
    )
    assert [line.split()[0] for line in text.splitlines()[2:]] == ["run", "R-00001", "R-00002"]
    said = json.loads(ask("method", "pb-furnace", "--json")[1])
    assert ([one["version"] for one in said["versions"]], len(said["runs"])) == (["1"], 2)
    acts = json.loads(ask("person", ANA, "--json")[1])["acts"]
    assert [one["subject"] for one in acts][-2:] == ["run/R-00001", "run/R-00002"]
    assert ask("person", "p-nobody")[0] == 5
