"""Runs of a block against the rules: what is sure there, ``check_run`` finds nothing in; what is ordinary is sure."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.validate.test_check import DOCUMENT, KNOWN, METHOD, METHOD_REF

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.ingest.many import read_many
from benchseal.ingest.reader import read_file
from benchseal.records.instrument_events import InstrumentEvent
from benchseal.records.known import Lent
from benchseal.records.layout import Layout
from benchseal.records.method import DigestsKeep
from benchseal.records.run import Run, RunDocument
from benchseal.validate.check import check_run
from benchseal.validate.many import check_block
from benchseal.validate.many_means import means_fit
from benchseal.validate.solutions import mean_problems

if TYPE_CHECKING:
    from benchseal.records.known import Known
    from benchseal.records.method import Method

ROOT = Path(__file__).parents[2]
LEAD = (ROOT / "fixtures" / "instrument-text" / "comma-list" / "good-lead.txt").read_text("utf-8")
ZINC = (ROOT / "fixtures" / "instrument-text" / "semicolon-sections" / "good-zinc-magnesium.txt").read_text("cp1252")
QUICK = settings(suppress_health_check=[HealthCheck.too_slow])


def _layout(name: str) -> Layout:
    path = ROOT / "pipeline" / "benchseal" / "starters" / "layouts" / f"{name}.yaml"
    document = read_document(path.read_bytes(), name)
    assert isinstance(document, ControlledDocument)
    assert isinstance(document.value, Layout)
    return document.value


COMMA, SEMI = _layout("comma-list"), _layout("semicolon-sections")
REF = DOCUMENT.layout


def judged(texts: list[str], known: Known, *, fold: int | None = None) -> list[bool]:
    """Which files are sure; of each of these it is asserted that ``check_run`` gives a run."""
    many = read_many([text.encode() for text in texts], COMMA, REF)
    sure = [False] * len(texts)
    for block in many.blocks:
        for run, fine in zip(block.runs, check_block(block, known, fold=fold), strict=True):  # type: ignore[arg-type]  # 0, 1 or None
            sure[run.file] = fine
    for text, fine in zip(texts, sure, strict=True):
        if fine:
            (document,) = read_file(text.encode(), "x", COMMA, REF)
            assert isinstance(document, RunDocument)
            assert isinstance(check_run(document, known, fold=fold), Run)  # type: ignore[arg-type]  # as above
    return sure


def rule(text: str, known: Known = KNOWN) -> bool:
    """Whether the rules by themselves find nothing in a file."""
    (document,) = read_file(text.encode(), "x", COMMA, REF)
    return isinstance(document, RunDocument) and isinstance(check_run(document, known), Run)


def test_concentrations_given_in_another_unit_are_left_to_the_rules() -> None:
    (block,) = read_many([LEAD.encode()], COMMA, REF).blocks
    assert check_block(block, KNOWN, given_in={"": "ug/L"}) == (True,)
    assert check_block(block, KNOWN, given_in={"": "mg/L"}) == (False,)


def of_day(day: str) -> str:
    return LEAD.replace("2026-03-02", day)


def test_ordinary_runs_are_sure() -> None:
    texts = [LEAD, of_day("2026-03-01"), re.sub(r"(0\.\d\d\d)\d,", r"\g<1>7,", LEAD)]
    assert judged(texts, KNOWN) == [True] * 3
    assert all(map(rule, texts))


def test_nothing_is_sure_of_no_runs() -> None:
    assert read_many([], COMMA, REF) == ((), ())


ROWS = [number for number, line in enumerate(LEAD.splitlines()) if re.match(r"\d+,", line)]
LABELS = [*sorted(set(DOCUMENT.solutions.label)), "nobody", "A-1/9"]
CODES = [rule.code for rule in COMMA.kinds]
CELLS = {
    1: st.sampled_from(LABELS),
    2: st.sampled_from(CODES),
    3: st.sampled_from(["", "5", "5.0", "10", "0", "99"]),
    4: st.sampled_from(["1", "1.0", "2", "10"]),
}


@QUICK
@given(data=st.data())
def test_solutions_of_other_names_kinds_and_dilutions(data: st.DataObject) -> None:
    """Whole solutions changed, exchanged, taken out or measured again: what is sure is right."""
    texts = [LEAD]
    for _ in range(data.draw(st.integers(1, 3))):
        solutions = _solutions()
        for _ in range(data.draw(st.integers(1, 3))):
            at = data.draw(st.integers(0, len(solutions) - 1))
            match data.draw(st.sampled_from(["cell", "cell", "lost", "again", "fewer", "exchanged"])):
                case "cell":
                    index = data.draw(st.sampled_from(list(CELLS)))
                    text = data.draw(CELLS[index])
                    for row in solutions[at]:
                        row[index] = text
                case "lost":
                    del solutions[at]
                case "again":
                    solutions.insert(data.draw(st.integers(0, len(solutions))), [list(row) for row in solutions[at]])
                case "fewer":
                    solutions[at] = solutions[at][:2]
                case _:
                    other = data.draw(st.integers(0, len(solutions) - 1))
                    solutions[at], solutions[other] = solutions[other], solutions[at]
        texts.append(_text(solutions))
    sure = judged(texts, KNOWN)
    assert sure[0]
    if len(texts) == 2:  # what is wrong in one file takes no other with it, and what is right is found so
        assert sure[1] == rule(texts[1])


def _solutions() -> list[list[list[str]]]:
    rows = [line.split(",") for line in LEAD.splitlines() if re.match(r"\d+,", line)]
    found: list[list[list[str]]] = []
    for row in rows:
        if not found or found[-1][0][0] != row[0]:
            found.append([])
        found[-1].append(row)
    return found


def _text(solutions: list[list[list[str]]]) -> str:
    """A file with these solutions, at the times the rows of the good one have."""
    lines = LEAD.splitlines()
    clocks = [line.rsplit(",", 1)[1] for line in lines if re.match(r"\d+,", line)]
    rows = [
        ",".join([str(position), *row[1:5], str(nth), *row[6:8]])
        for position, solution in enumerate(solutions, 1)
        for nth, row in enumerate(solution, 1)
    ]
    timed = [f"{row},{clocks[min(nth, len(clocks) - 1)]}" for nth, row in enumerate(rows)]
    first, last = ROWS[0], ROWS[-1]
    end = re.sub(r"\d+", str(len(rows)), lines[last + 1])
    return "\r\n".join([*lines[:first], *timed, end, *lines[last + 2 :], ""])


def _method(**changes: object) -> Known:
    return replace(KNOWN, methods=((METHOD_REF, replace(METHOD, **changes)),))  # type: ignore[arg-type]  # fields by name


def _portions(**changes: object) -> Known:
    portions = {name: tuple(replace(one, **changes) for one in each) for name, each in KNOWN.portions.items()}  # type: ignore[arg-type]  # fields by name
    return replace(KNOWN, portions=portions)


CALIBRATION = METHOD.calibration
KNOWN_OTHERWISE: dict[str, Known] = {
    "digests past their time": _method(digests_keep=DigestsKeep(hours="1", source="test")),
    "method of brackets": _method(calibration=replace(CALIBRATION, bracketing="required")),
    "method of additions": _method(calibration=replace(CALIBRATION, additions="required")),
    "more readings each": _method(replicates=replace(METHOD.replicates, count=4)),
    "a check the method lacks": _method(checks=METHOD.checks[1:]),
    "other concentrations": _method(standards=tuple(replace(one, concentration="7") for one in METHOD.standards)),
    "other correction": _method(background_correction="zeeman"),
    "background judged": _method(conditions=replace(METHOD.conditions, largest_background="0.8")),
    "no instrument": replace(KNOWN, instruments=()),
    "instrument not in service": replace(
        KNOWN, instruments=tuple(replace(one, in_service_from="2026-03-03") for one in KNOWN.instruments)
    ),
    "no lot": replace(KNOWN, standard_lots=()),
    "lot expired": replace(
        KNOWN, standard_lots=tuple(replace(one, expires_on="2026-03-01") for one in KNOWN.standard_lots)
    ),
    "one lot for both": replace(
        KNOWN, standard_lots=tuple(replace(one, lot="L", maker="m") for one in KNOWN.standard_lots)
    ),
    "prepared later": _portions(prepared_at="2026-03-03T10:00:00"),
    "prepared that day": _portions(prepared_at="2026-03-02T23:00:00"),
    "lost": _portions(not_determined="spilt"),
    "of another element": _portions(elements=("Cd",)),
    "of another batch": replace(KNOWN, batches=frozenset({"P-9"})),
    "in two batches": replace(
        KNOWN, portions={name: (*each, replace(each[0], batch="P-9")) for name, each in KNOWN.portions.items()}
    ),
    "long ago": replace(KNOWN, now="2026-03-02T08:00:00Z"),
    "while it ran": replace(KNOWN, now="2026-03-02T08:20:00Z"),
    "no methods": replace(KNOWN, methods=()),
}
RIGHT = {"background judged", "prepared that day"}


@pytest.mark.parametrize("change", list(KNOWN_OTHERWISE))
def test_each_rule_is_asked(change: str) -> None:
    known = KNOWN_OTHERWISE[change]
    texts = [LEAD, of_day("2026-02-27")]
    sure = judged(texts, known)
    assert sure[0] == rule(LEAD, known) == (change in RIGHT)


def test_a_day_late_for_one_file_is_not_for_another() -> None:
    known = _portions(prepared_at="2026-03-01T10:00:00")
    assert judged([LEAD, of_day("2026-02-28"), of_day("2026-03-01")], known) == [True, False, True]


def test_a_background_that_is_judged_and_not_there() -> None:
    known = KNOWN_OTHERWISE["background judged"]
    lines = LEAD.splitlines()
    without = "\n".join(re.sub(r"^(\d+(?:,[^,]*){6}),[^,]*,", r"\1,,", line) for line in lines)
    assert judged([LEAD, without + "\n"], known) == [True, False]


@pytest.mark.parametrize(("zone", "day", "sure"), [("Europe/Berlin", "2026-03-29", False), ("UTC", "2026-03-29", True)])
def test_days_clocks_change_on_are_asked_one_by_one(zone: str, day: str, sure: bool) -> None:
    """The start in an hour that does not exist, or does where clocks do not change."""
    known = replace(
        KNOWN, instruments=tuple(replace(one, zone=zone) for one in KNOWN.instruments), now="2026-04-02T20:00:00Z"
    )
    text = re.sub(r"(Begun,\S+) 09", r"\1 02", of_day(day))
    assert judged([text, of_day(day)], known) == [sure and rule(text, known), True]


@pytest.mark.parametrize("last", ["01:59:59", "02:31:40", "03:00:00"])
def test_a_reading_in_an_hour_clocks_left_out_is_not_sure(last: str) -> None:
    """With a last reading before, in and after the hour that Berlin left out on 2026-03-29."""
    known = replace(KNOWN, now="2026-04-02T20:00:00Z")
    text = re.sub(r"(?m)^(\d+,.*,)\d\d:\d\d:\d\d$", rf"\g<1>{last}", of_day("2026-03-29"))
    text = text.replace("2026-03-29 09:14:05", "2026-03-29 00:30:00")
    assert rule(text, known) == (last != "02:31:40")
    (fine,) = judged([text], known)
    assert not (fine and last == "02:31:40")


def test_clocks_that_are_off_are_asked_one_by_one() -> None:
    ahead = InstrumentEvent(
        schema="instrument-event/1", instrument="furnace-1", kind="clock_check", at="2026-03-01T10:00:00Z",
        text="radio clock",
        seen="2026-03-01T10:00:00Z", true="2026-03-01T09:00:00Z", offset_seconds=3600, by="i.brandt",
    )  # fmt: skip
    events = {"furnace-1": (ahead,)}
    soon = replace(KNOWN, now="2026-03-02T08:20:00Z")
    assert judged([LEAD], replace(KNOWN, instrument_events=events)) == [True]
    assert judged([LEAD], soon) == [False]
    assert judged([LEAD], replace(soon, instrument_events=events)) == [
        rule(LEAD, replace(soon, instrument_events=events))
    ]


def test_an_earlier_curve_is_not_for_blocks() -> None:
    run = check_run(DOCUMENT, KNOWN)
    assert isinstance(run, Run)
    lent = Lent("R-1", "reviewed", 1, "0" * 64, run, usable=True, good=True)
    assert judged([LEAD], replace(KNOWN, lent=(lent,))) == [False]


def test_a_method_of_one_file_is_not_that_of_another() -> None:
    other: Method = replace(METHOD, id="lead-two", file_names=("Pb again",))
    known = replace(KNOWN, methods=((METHOD_REF, METHOD), (replace(METHOD_REF, id="lead-two"), other)))
    again = LEAD.replace("Pb tube 283", "Pb again")
    unknown = LEAD.replace("Pb tube 283", "Pb never")
    assert again != LEAD
    assert judged([LEAD, again, unknown, LEAD, again], known) == [True, True, rule(unknown, known), True, True]


# ------------------------------------------------------------------ printed means

MEANS = [found.span(1) for found in re.finditer(r";([0-9,]+)\r?\n", ZINC) if ZINC[: found.start()].count("\n") > 13]


@QUICK
@given(data=st.data())
def test_means_beside_their_readings(data: st.DataObject) -> None:
    """Last digits of some means changed by little or much: what is sure fits by the exact rule."""
    text, changed = ZINC, False
    for _ in range(data.draw(st.integers(0, 3))):
        first, last = data.draw(st.sampled_from(MEANS))
        number = text[first:last]
        if "," not in number:
            continue
        text = text[: last - 1] + data.draw(st.sampled_from("0123456789")) + text[last:]
        changed = text != ZINC
    data_of = text.encode("cp1252")
    (block,) = read_many([data_of], SEMI, REF).blocks
    fit = means_fit(block).tolist()
    for fine, document in zip(fit, read_file(data_of, "x", SEMI, REF), strict=True):
        assert isinstance(document, RunDocument)
        exact = not list(mean_problems(document))
        assert exact or not fine
        assert fine or changed


@pytest.mark.parametrize(("third", "fits"), [("0,4", False), ("0,3", True)])
def test_a_coarse_reading_excuses_itself_alone(third: str, fits: bool) -> None:
    """Worked by hand: halves 3 x 0.00005 + 2 x 0.00005 + 0.05 = 0.05025; 3 x 0.3212 = 0.9636; sums 1.0436, 0.9436."""
    old = "0,3230;0,3206;0,3201;0,3212"
    assert ZINC.count(old) == 1
    data = ZINC.replace(old, f"0,3230;0,3206;{third};0,3212").encode("cp1252")
    (block,) = read_many([data], SEMI, REF).blocks
    zinc, magnesium = read_file(data, "x", SEMI, REF)
    assert isinstance(zinc, RunDocument)
    assert means_fit(block).tolist() == [fits, True]
    assert (not list(mean_problems(zinc))) is fits
    assert isinstance(magnesium, RunDocument)
