"""Run documents to runs: one good run, and one change for each rule that must stop it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.ingest.reader import read_file
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.known import Known
from benchseal.records.layout import Layout
from benchseal.records.method import Method
from benchseal.records.preparation import Portion
from benchseal.records.quantities import unit_shown
from benchseal.records.registers import Instrument, StandardLot
from benchseal.records.run import DocumentRef, Run, RunDocument
from benchseal.records.shape import record_bytes
from benchseal.validate.check import check_run
from benchseal.validate.registers import clock_changed

ROOT = Path(__file__).parents[2]
STARTERS = ROOT / "pipeline" / "benchseal" / "starters"
FILES = ROOT / "fixtures" / "instrument-text"


def _starter(name: str) -> ControlledDocument:
    document = read_document((STARTERS / name).read_bytes(), name)
    assert isinstance(document, ControlledDocument)
    return document


def _method() -> Method:
    """The starter for lead by furnace, with the labels and settings of the sample file."""
    value = _starter("methods/lead-furnace.yaml").value
    assert isinstance(value, Method)
    standards = tuple(replace(standard, label=standard.label.removeprefix("Pb-")) for standard in value.standards)
    return replace(value, standards=standards, file_names=("Pb tube 283",), background_correction="deuterium")


def _document() -> RunDocument:
    layout = _starter("layouts/comma-list.yaml")
    assert isinstance(layout.value, Layout)
    path = FILES / "comma-list" / "good-lead.txt"
    ref = DocumentRef("comma-list", 1, digest(layout.canonical))
    (document,) = read_file(path.read_bytes(), path.name, layout.value, ref)
    assert isinstance(document, RunDocument)
    return document


DOCUMENT = _document()
METHOD = _method()
METHOD_REF = DocumentRef("lead-furnace", 1, "5" * 64)
_PRESENTED = ("method_blank", "control_sample", "reference_material", "sample", "duplicate", "spiked_sample")


def _portions(document: RunDocument) -> dict[str, tuple[Portion, ...]]:
    return {
        label: (Portion(label, "P-031", kind, "", ("Pb", "Cd"), "25.0", "p-ines.brandt", "2026-03-01T10:00:00"),)  # type: ignore[arg-type]  # a kind among those presented
        for label, kind in zip(document.solutions.label, document.solutions.kind, strict=True)
        if kind in _PRESENTED
    }


KNOWN = Known(
    methods=((METHOD_REF, METHOD),),
    portions=_portions(DOCUMENT),
    batches=frozenset(),
    instruments=(Instrument("furnace-1", "TQ-F-0417", "furnace", "Europe/Berlin", "2025-01-07"),),
    standard_lots=(
        StandardLot("L-204", "Pb", "calibration", "1000", "mg/L", "0.2", "a maker", "C-88", "2026-01-02", "2026-12-31"),
        StandardLot(
            "L-377", "Pb", "second_source", "1000", "mg/L", "0.3", "b maker", "C-12", "2026-01-02", "2026-12-31"
        ),
        StandardLot("L-400", "Cd", "calibration", "1000", "mg/L", "0.2", "a maker", "C-90", "2026-01-02", "2026-12-31"),
    ),
    now="2026-03-02T20:00:00Z",
)


def _codes(document: RunDocument, known: Known, **options: Any) -> list[str]:  # noqa: ANN401  fold only
    found = check_run(document, known, **options)
    return [] if isinstance(found, Run) else [problem.code.removeprefix("validate.") for problem in found]


def test_a_good_run_is_bound_to_everything() -> None:
    run = check_run(DOCUMENT, KNOWN)
    assert isinstance(run, Run), [str(problem) for problem in run]
    assert run.document is DOCUMENT
    assert (run.method, run.method_ref) == (METHOD, METHOD_REF)
    assert run.instrument == "furnace-1"
    assert run.measured_at == "2026-03-02T08:14:05Z", "Berlin is one hour ahead in March"
    assert run.standard_lots == ("L-204", "L-377")
    assert run.hidden == (False,) * 37
    assert run.portion[0] == ("", "")
    assert run.portion[10] == ("P-031", "MB-1")


# Changes of the document

Change: TypeAlias = Callable[[RunDocument], RunDocument]


def _facts(**values: object) -> Change:
    return lambda document: replace(document, facts=replace(document.facts, **values))  # type: ignore[arg-type]


def _column(group: str, name: str, index: int, value: object) -> Change:
    def change(document: RunDocument) -> RunDocument:
        columns = getattr(document, group)
        column = list(getattr(columns, name))
        column[index] = value
        return replace(document, **{group: replace(columns, **{name: tuple(column)})})

    return change


def _without(index: int) -> Change:
    """The document without one solution and its readings."""

    def change(document: RunDocument) -> RunDocument:
        first, count = document.solutions.first_reading[index], document.solutions.reading_count[index]
        solutions = {
            name: tuple(value for nth, value in enumerate(getattr(document.solutions, name)) if nth != index)
            for name in document.solutions.__slots__
        }
        solutions["first_reading"] = tuple(at - count if at > first else at for at in solutions["first_reading"])
        readings = {
            name: getattr(document.readings, name)[:first] + getattr(document.readings, name)[first + count :]
            for name in document.readings.__slots__
        }
        return replace(
            document,
            solutions=type(document.solutions)(**solutions),
            readings=type(document.readings)(**readings),
        )

    return change


def _mean(text: str) -> Change:
    means = type(DOCUMENT.means)((10,), (text,), (47,))
    return lambda document: replace(document, means=means)


def _both(*changes: Change) -> Change:
    def change(document: RunDocument) -> RunDocument:
        for part in changes:
            document = part(document)
        return document

    return change


# Positions of the sample file: S0 to S6 at 0 to 6, SS 7, CHK 8, CHK0 9, MB-1 10, CS-1 11, RM-1 12, A-1/1 13.
_DOCUMENT_DEFECTS: dict[str, tuple[Change, str]] = {
    "digest that is none": (lambda document: replace(document, source_sha256="abc"), "shape"),
    "number that is none": (_column("readings", "signal", 0, "0,5"), "shape"),
    "kind that is none": (_column("solutions", "kind", 0, "candle"), "shape"),
    "position of text": (_column("solutions", "position", 0, "1"), "shape"),
    "columns of two lengths": (
        lambda document: replace(document, readings=replace(document.readings, flag=document.readings.flag[1:])),
        "columns",
    ),
    "positions that fall": (_column("solutions", "position", 5, 3), "columns"),
    "readings counted twice": (_column("solutions", "first_reading", 5, 3), "columns"),
    "readings of nobody": (_column("solutions", "reading_count", 36, 2), "columns"),
    "reading without signal and flag": (_column("readings", "signal", 5, ""), "columns"),
    "reading with signal and flag": (_column("readings", "flag", 5, "missing"), "columns"),
    "mean of no solution": (
        lambda document: replace(document, means=type(document.means)((99,), ("0.1",), (3,))),
        "columns",
    ),
    "serial number nobody knows": (_facts(instrument_serial="TQ-X"), "instrument-unknown"),
    "instrument of another technique": (_facts(technique="flame"), "instrument-technique"),
    "run before the instrument served": (_facts(started_at="2024-12-31T09:00:00"), "instrument-not-in-service"),
    "no start": (_facts(started_at=""), "time-missing"),
    "hour that clocks left out": (_facts(started_at="2025-03-30T02:30:00"), "time-impossible"),
    "hour that came twice": (_facts(started_at="2025-10-26T02:30:00"), "time-impossible"),
    "day that is none": (_facts(started_at="2026-02-30T02:30:00"), "time-impossible"),
    "start in the future": (_facts(started_at="2026-03-02T21:00:01"), "time-future"),
    "last reading in the future": (_column("readings", "taken_at", 110, "2026-03-02T21:30:00"), "time-future"),
    "method nobody knows": (_facts(method_name="?", wavelength_nm="217.0"), "method-unknown"),
    "other wavelength": (_facts(wavelength_nm="217.0"), "wavelength-nm-differs"),
    "other element": (_facts(element="Cd"), "element-differs"),
    "other technique": (_facts(technique="flame"), "technique-differs"),
    "other background correction": (_facts(background_correction="none"), "background-correction-differs"),
    "background correction not stated": (_facts(background_correction=""), "background-correction-differs"),
    "other signal": (_facts(signal_is="absorbance_zeroed_on_blank"), "signal-is-differs"),
    "other unit": (_facts(signal_unit="A"), "signal-unit-differs"),
    "other slit": (_facts(slit_nm="0.2"), "slit-differs"),
    "flame where the method has none": (_facts(flame="air_acetylene"), "flame-differs"),
    "height where the method reads the area": (_facts(signal_form="peak_height"), "signal-form-differs"),
    "other volume injected": (_facts(injection_ul="10"), "injection-differs"),
    "slit that is no number": (_facts(slit_nm="0,7"), "shape"),
    "flame nobody knows": (_facts(flame="propane"), "shape"),
    "concentrations only": (_facts(signal_is="instrument_concentration", signal_unit="ug/L"), "concentration-only"),
    "standard missing": (_without(3), "standard-missing"),
    "blank missing": (_without(0), "standard-missing"),
    "standard of another name": (_column("solutions", "label", 3, "S9"), "standard-unknown"),
    "standard twice": (_column("solutions", "label", 4, "S3"), "standard-repeated"),
    "sample named as a standard": (_column("solutions", "kind", 13, "standard"), "standard-unknown"),
    "blank as a standard": (_column("solutions", "kind", 0, "standard"), "standard-kind"),
    "standard as a blank": (_column("solutions", "kind", 1, "calibration_blank"), "standard-kind"),
    "standard of another concentration": (_column("solutions", "nominal", 2, "2.6"), "nominal-differs"),
    "check of another concentration": (_column("solutions", "nominal", 8, "9.9"), "nominal-differs"),
    "check blank that is none": (_column("solutions", "nominal", 9, "1"), "nominal-differs"),
    "diluted standard": (_column("solutions", "dilution", 2, "2"), "dilution-of-check"),
    "diluted check": (_column("solutions", "dilution", 8, "2"), "dilution-of-check"),
    "standard over range": (
        _both(_column("readings", "signal", 18, ""), _column("readings", "flag", 18, "over_range")),
        "standard-over-range",
    ),
    "too few readings": (
        _both(
            _column("readings", "signal", 39, ""), _column("readings", "flag", 39, "missing"),
            _column("readings", "signal", 40, ""), _column("readings", "flag", 40, "missing"),
        ),
        "replicates-few",
    ),
    "mean of other readings": (_mean("0.0123"), "mean-differs"),
    "sample nobody prepared": (_column("solutions", "label", 13, "A-1/9"), "sample-unknown"),
    "sample read twice": (_column("solutions", "label", 14, "A-1/1"), "sample-repeated"),
    "sample as a blank": (_column("solutions", "kind", 13, "method_blank"), "sample-kind"),
    "sample as its second portion": (_column("solutions", "kind", 13, "duplicate"), "sample-kind"),
}  # fmt: skip


@pytest.mark.parametrize("defect", _DOCUMENT_DEFECTS)
def test_defects_of_the_document(defect: str) -> None:
    change, code = _DOCUMENT_DEFECTS[defect]
    assert code in _codes(change(DOCUMENT), KNOWN)


# Changes of what is known


def _portion(label: str, *portions: Portion, **values: object) -> Known:
    changed = portions or (replace(KNOWN.portions[label][0], **values),)  # type: ignore[arg-type]
    return replace(KNOWN, portions={**KNOWN.portions, label: changed})


def _lots(*changes: tuple[int, dict[str, object]]) -> Known:
    lots = list(KNOWN.standard_lots)
    for index, values in changes:
        lots[index] = replace(lots[index], **values)  # type: ignore[arg-type]
    return replace(KNOWN, standard_lots=tuple(lots))


def _with_method(**values: object) -> Known:
    return replace(KNOWN, methods=((METHOD_REF, replace(METHOD, **values)),))  # type: ignore[arg-type]


def _summer_night(started: str, *clocks: str) -> RunDocument:
    """The run in the night of 2025-03-30, when clocks in Berlin go from 02:00 to 03:00. clocks: of its readings."""
    count = len(DOCUMENT.readings.taken_at)
    taken = tuple(f"2025-03-30T{clock}" for clock in clocks) + (f"2025-03-30T{clocks[-1]}",) * (count - len(clocks))
    document = replace(DOCUMENT, readings=replace(DOCUMENT.readings, taken_at=taken))
    return replace(document, facts=replace(DOCUMENT.facts, started_at=f"2025-03-30T{started}"))


def _named_times(document: RunDocument, zone: str = "Europe/Berlin") -> list[Problem]:
    known = replace(KNOWN, instruments=(replace(KNOWN.instruments[0], zone=zone),))
    found = check_run(document, known)
    assert not isinstance(found, Run)  # of that day there are no lots
    return [each for each in found if each.code == "validate.time-impossible"]


def test_readings_of_an_hour_clocks_left_out_are_named_once_with_their_line() -> None:
    inside = _summer_night("01:30:00", "01:31:00", "01:59:59", "02:31:40", "02:59:59", "03:00:00")
    (problem,) = _named_times(inside)
    assert problem.where == f"good-lead.txt, line {DOCUMENT.readings.line[2]} (position 1, S0)"
    assert "2025-03-30T02:31:40 does not exist in Europe/Berlin" in problem.what
    assert "So are 1 more of the 111 readings." in problem.what
    assert len(_named_times(_summer_night("01:30:00", "01:31:00", "02:00:00"))) == 1, "the whole rest is inside"
    assert _named_times(inside, "UTC") == []
    assert _named_times(_summer_night("01:30:00", "01:59:59", "03:00:00")) == []
    back = replace(inside, facts=replace(inside.facts, started_at="2025-10-26T01:00:00"))
    taken = tuple(text.replace("03-30", "10-26") for text in inside.readings.taken_at)
    assert _named_times(replace(back, readings=replace(back.readings, taken_at=taken))) == [], "an hour that came twice"


@pytest.mark.parametrize(
    ("clocks", "day", "zone", "changed"),
    [
        (("01:31:00", "03:02:00"), "03-30", "Europe/Berlin", True),
        (("01:31:00", "03:02:00"), "10-26", "Europe/Berlin", True),
        (("02:31:00", "02:32:00"), "10-26", "Europe/Berlin", True),  # of which of the two hours, nobody knows
        (("00:31:00", "01:59:59"), "03-30", "Europe/Berlin", False),
        (("03:00:00", "09:32:00"), "03-30", "Europe/Berlin", False),
        (("01:31:00", "03:02:00"), "03-30", "UTC", False),
        (("01:31:00", "03:02:00"), "03-29", "Europe/Berlin", False),
        (("", ""), "03-30", "Europe/Berlin", False),
    ],
)
def test_a_clock_put_forward_or_back_between_readings(
    clocks: tuple[str, str], day: str, zone: str, changed: bool
) -> None:
    count = len(DOCUMENT.readings.taken_at)
    first, last = (f"2025-{day}T{clock}" if clock else "" for clock in clocks)
    document = replace(DOCUMENT, readings=replace(DOCUMENT.readings, taken_at=(first,) + (last,) * (count - 1)))
    assert clock_changed(document, replace(KNOWN.instruments[0], zone=zone)) is changed


def test_a_run_says_whether_the_clock_changed_in_it() -> None:
    count = len(DOCUMENT.readings.taken_at)
    timed = replace(DOCUMENT, readings=replace(DOCUMENT.readings, taken_at=(DOCUMENT.facts.started_at,) * count))
    run = check_run(timed, KNOWN)
    assert isinstance(run, Run), run
    assert not run.clock_changed
    assert b"clock_changed" not in record_bytes(run)
    assert b"clock_changed" in record_bytes(replace(run, clock_changed=True))


A_1 = KNOWN.portions["A-1/1"][0]
_KNOWN_DEFECTS: dict[str, tuple[Known, str]] = {
    "no instruments": (replace(KNOWN, instruments=()), "instrument-unknown"),
    "one serial number at two instruments": (replace(KNOWN, instruments=KNOWN.instruments * 2), "instrument-unknown"),
    "zone that does not exist": (
        replace(KNOWN, instruments=(replace(KNOWN.instruments[0], zone="Nowhere/Else"),)),
        "time-impossible",
    ),
    "no methods": (replace(KNOWN, methods=()), "method-unknown"),
    "two methods of one name": (replace(KNOWN, methods=KNOWN.methods * 2), "method-several"),
    "check the method does not know": (
        _with_method(checks=tuple(rule for rule in METHOD.checks if rule.check != "second_source")),
        "check-unplanned",
    ),
    "more readings asked for": (_with_method(replicates=replace(METHOD.replicates, count=4)), "replicates-few"),
    "no lot": (replace(KNOWN, standard_lots=KNOWN.standard_lots[1:]), "lot-missing"),
    "no second source": (replace(KNOWN, standard_lots=KNOWN.standard_lots[:1]), "lot-missing"),
    "lot expired the day before": (_lots((0, {"expires_on": "2026-03-01"})), "lot-expired"),
    "lot not yet in use": (_lots((0, {"in_use_from": "2026-03-03"})), "lot-missing"),
    "two lots in use": (_lots((2, {"element": "Pb"})), "lot-several"),
    "second source that is none": (_lots((1, {"lot": "L-204", "maker": "a maker"})), "lot-same"),
    "portion for another element": (_portion("A-1/1", elements=("Cd",)), "sample-element"),
    "portion in two batches": (_portion("A-1/1", A_1, replace(A_1, batch="P-032")), "sample-several"),
    "portion of another batch": (replace(KNOWN, batches=frozenset({"P-099"})), "sample-batch"),
    "portion that was lost": (_portion("A-1/1", not_determined="vessel vented"), "sample-lost"),
    "portion prepared the day after": (_portion("A-1/1", prepared_at="2026-03-03T08:00:00"), "sample-date"),
}


@pytest.mark.parametrize("defect", _KNOWN_DEFECTS)
def test_defects_of_what_is_known(defect: str) -> None:
    known, code = _KNOWN_DEFECTS[defect]
    assert code in _codes(DOCUMENT, known)


def test_methods_of_one_name_say_which_setting_none_of_them_has() -> None:
    other = (DocumentRef("lead-second", 1, "6" * 64), replace(METHOD, id="lead-second"))
    known = replace(KNOWN, methods=(*KNOWN.methods, other))
    found = check_run(_facts(wavelength_nm="217.0", slit_nm="0.2")(DOCUMENT), known)
    assert not isinstance(found, Run)
    said = {problem.code: problem.what for problem in found}
    assert set(said) == {"validate.wavelength-nm-differs", "validate.slit-differs"}
    assert said["validate.wavelength-nm-differs"].count("wavelength_nm is 217.0 nm; method") == 2
    assert found[0].where.endswith(f", run beginning at line {DOCUMENT.facts.line}")


# What must not stop a run

_HARMLESS: dict[str, tuple[Change, Known]] = {
    "wavelength with another number of places": (_facts(wavelength_nm="283.30"), KNOWN),
    "settings as the method says, with other places": (
        _facts(slit_nm="0.70", signal_form="integrated", injection_ul="20.0"),
        KNOWN,
    ),
    "method without a name in the file": (_facts(method_name=""), KNOWN),
    "nominal with another number of places": (_column("solutions", "nominal", 2, "2.500"), KNOWN),
    "nominal not printed": (_column("solutions", "nominal", 2, ""), KNOWN),
    "sample over range": (
        _both(_column("readings", "signal", 40, ""), _column("readings", "flag", 40, "over_range")),
        KNOWN,
    ),
    "same portion at another dilution": (
        _both(_column("solutions", "label", 14, "A-1/1"), _column("solutions", "dilution", 14, "10")),
        KNOWN,
    ),
    "rinse between samples": (_column("solutions", "kind", 14, "rinse"), KNOWN),
    "lot on its last day": (lambda document: document, _lots((0, {"expires_on": "2026-03-02"}))),
    "lot on its first day": (lambda document: document, _lots((0, {"in_use_from": "2026-03-02"}))),
    "portion in two batches, one named": (
        lambda document: document,
        replace(_portion("A-1/1", A_1, replace(A_1, batch="P-032")), batches=frozenset({"P-031"})),
    ),
    "portion in two batches, one for this element": (
        lambda document: document,
        _portion("A-1/1", A_1, replace(A_1, batch="P-032", elements=("Zn",))),
    ),
}


@pytest.mark.parametrize("case", _HARMLESS)
def test_harmless(case: str) -> None:
    change, known = _HARMLESS[case]
    assert _codes(change(DOCUMENT), known) == []


@pytest.mark.parametrize(
    ("fold", "measured_at"), [(None, ""), (0, "2025-10-26T00:30:00Z"), (1, "2025-10-26T01:30:00Z")]
)
def test_an_hour_that_came_twice_needs_the_layouts_word(fold: int | None, measured_at: str) -> None:
    """Germany put clocks back at 03:00 summer time on 26 October 2025 (time zone database)."""
    document = _facts(started_at="2025-10-26T02:30:00")(DOCUMENT)
    known = replace(_lots((0, {"in_use_from": "2025-01-01"}), (1, {"in_use_from": "2025-01-01"})))
    known = replace(known, portions={
        label: (replace(found[0], prepared_at="2025-10-25T10:00:00"),) for label, found in known.portions.items()
    })  # fmt: skip
    run = check_run(document, known, fold=fold)  # type: ignore[arg-type]
    assert (run.measured_at if isinstance(run, Run) else "") == measured_at


def _means_of(indexes: Sequence[int], document: RunDocument) -> RunDocument:
    """With a mean printed for each of some solutions, of its readings."""
    solutions, signals, texts = document.solutions, document.readings.signal, []
    for index in indexes:
        first, count = solutions.first_reading[index], solutions.reading_count[index]
        texts.append(f"{sum(map(float, signals[first : first + count])) / count:.5f}")
    lines = tuple(200 + index for index in indexes)
    return replace(document, means=type(document.means)(tuple(indexes), tuple(texts), lines))


@pytest.mark.parametrize("lost", [1, 3, 6])
def test_a_solution_without_its_printed_mean_is_told_where_most_have_one(lost: int) -> None:
    """A reading deleted together with the mean below it fits its number of readings, and no mean contradicts it."""
    everything = range(len(DOCUMENT.solutions.label))
    assert _codes(_means_of(everything, DOCUMENT), KNOWN) == []
    found = check_run(_means_of([index for index in everything if index != lost], DOCUMENT), KNOWN)
    assert isinstance(found, tuple)
    (problem,) = found
    assert (problem.code, DOCUMENT.solutions.label[lost] in problem.what) == ("validate.mean-missing", True)


def test_where_few_of_a_kind_have_a_mean_none_is_missed() -> None:
    """An instrument may print means of some kinds, or none of what has a word for a reading."""
    standards = [index for index, kind in enumerate(DOCUMENT.solutions.kind) if kind == "standard"]
    assert _codes(_means_of(standards, DOCUMENT), KNOWN) == []
    assert _codes(_means_of(standards[:2], DOCUMENT), KNOWN) == []
    samples = [index for index, kind in enumerate(DOCUMENT.solutions.kind) if kind != "standard"]
    assert _codes(_means_of(samples, DOCUMENT), KNOWN) == []


@pytest.mark.parametrize("text", ["0.0018", "0.0019"])
def test_a_mean_rounded_by_the_instrument_is_its_readings(text: str) -> None:
    """Readings 0.0018, 0.0018, 0.0019 may come from a mean of 0.00185, which prints as either."""
    document = DOCUMENT
    for nth, signal in enumerate(("0.0018", "0.0018", "0.0019")):
        document = _column("readings", "signal", 30 + nth, signal)(document)
    assert _codes(_mean(text)(document), KNOWN) == []


@pytest.mark.parametrize("text", ["0.0016", "0.0021"])
def test_a_mean_beyond_rounding_is_not(text: str) -> None:
    document = DOCUMENT
    for nth, signal in enumerate(("0.0018", "0.0018", "0.0019")):
        document = _column("readings", "signal", 30 + nth, signal)(document)
    assert _codes(_mean(text)(document), KNOWN) == ["mean-differs"]


@pytest.mark.parametrize(
    ("signals", "mean", "fits"),
    [
        # 3 x 0.0403 = 0.1209; sum 0.1810; apart 0.0601; halves 3 x 0.00005 + 0.00005 + 0.00005 + 0.05 = 0.05025
        pytest.param(("0.0402", "0.0404", "0.1"), "0.0403", False, id="one coarse reading excuses itself alone"),
        # sum 0.1711; 3 x 0.0404 = 0.1212; apart 0.0499 <= 0.05025
        pytest.param(("0.0402", "0.0309", "0.1"), "0.0404", True, id="within the halves"),
        # sum 0.0090, 3 x 0.0031 = 0.0093: apart 0.0003 = 3 x 0.00005 + 3 x 0.00005, the bound itself
        pytest.param(("0.0030", "0.0030", "0.0030"), "0.0031", True, id="at the bound"),
        # sum 0.0089: apart 0.0004 > 0.0003
        pytest.param(("0.0030", "0.0030", "0.0029"), "0.0031", False, id="beyond the bound"),
        # sum 0.0900, 3 x 0.03 = 0.09; and 3 x 0.04 = 0.12: apart 0.03 > 3 x 0.005 + 3 x 0.00005 = 0.01515
        pytest.param(("0.0300", "0.0300", "0.0300"), "0.03", True, id="a coarse mean"),
        pytest.param(("0.0300", "0.0300", "0.0300"), "0.04", False, id="a coarse mean beyond"),
    ],
)
def test_printed_means_by_the_halves_of_each_number(signals: tuple[str, ...], mean: str, fits: bool) -> None:
    """Worked by hand: each number printed is off by at most half its own last place."""
    document = DOCUMENT
    for nth, signal in enumerate(signals):
        document = _column("readings", "signal", 30 + nth, signal)(document)
    assert _codes(_mean(mean)(document), KNOWN) == ([] if fits else ["mean-differs"])


@pytest.mark.parametrize(
    ("stated", "changes", "words"),
    [
        ({"slit_nm": "0.2"}, {}, "slit is 0.2 nm; method lead-furnace requires 0.7 nm."),
        ({"slit_nm": "0.2"}, {"slit_nm": ""}, "slit is 0.2 nm; method lead-furnace requires nothing."),
        ({"injection_ul": "10"}, {}, "injection is 10 uL; method lead-furnace requires 20 uL."),
        ({"flame": "air_acetylene"}, {}, "flame is air_acetylene; method lead-furnace requires nothing."),
        ({"signal_form": "continuous"}, {}, "signal_form is continuous; method lead-furnace requires integrated."),
    ],
)
def test_a_setting_that_differs_is_said_with_both_sides(
    stated: dict[str, object], changes: dict[str, object], words: str
) -> None:
    found = check_run(_facts(**stated)(DOCUMENT), _with_method(**changes))
    assert not isinstance(found, Run)
    assert [problem.what for problem in found] == [words]


@pytest.mark.parametrize(("stated", "codes"), [("air_acetylene", []), ("nitrous_oxide_acetylene", ["flame-differs"])])
def test_the_flame_must_be_the_methods(stated: str, codes: list[str]) -> None:
    known = _with_method(conditions=replace(METHOD.conditions, flame="air_acetylene"))
    assert _codes(_facts(flame=stated)(DOCUMENT), known) == codes


def test_all_problems_at_once_with_places_and_both_sides() -> None:
    change = _both(
        _facts(wavelength_nm="217.0", instrument_serial="TQ-F-0418"),
        _column("solutions", "label", 13, "A-1/3"),
        _column("solutions", "nominal", 2, "2.6"),
    )
    found = check_run(change(DOCUMENT), KNOWN)
    assert not isinstance(found, Run)
    texts = {problem.code.removeprefix("validate."): str(problem) for problem in found}
    assert set(texts) == {"instrument-unknown", "wavelength-nm-differs", "sample-unknown", "nominal-differs"}
    assert "known: TQ-F-0417" in texts["instrument-unknown"]
    assert "217.0 nm; method lead-furnace requires 283.3 nm" in texts["wavelength-nm-differs"]
    assert "good-lead.txt, line 54 (position 14, A-1/3)" in texts["sample-unknown"]
    assert "A-1/1" in texts["sample-unknown"]
    assert "S2 is 2.6 in the file; the method says 2.5 ug/L" in texts["nominal-differs"]


_VALUES = st.sampled_from(["", "0", "x", "-1", "0.5", "2026-13-40T99:99:99", "\ud800", 0, -1, 10**9, None, True])


@given(st.data())
def test_any_change_is_a_run_or_problems(data: st.DataObject) -> None:
    group = data.draw(st.sampled_from(["facts", "solutions", "readings"]))
    record = getattr(DOCUMENT, group)
    name = data.draw(st.sampled_from(record.__slots__))
    value = data.draw(_VALUES)
    change = _facts(**{name: value}) if group == "facts" else _column(group, name, data.draw(st.integers(0, 30)), value)
    numbers = tuple(map(str, range(1, len(DOCUMENT.readings.line) + 1)))
    numbered = replace(DOCUMENT, readings=replace(DOCUMENT.readings, number=numbers))
    found = check_run(change(numbered), KNOWN)
    assert isinstance(found, Run) or (found and all(isinstance(problem, Problem) for problem in found))


def _unit_of_method() -> str:
    return METHOD.solution_unit


@pytest.mark.parametrize("unit", ["mg/L", "ug/mL", "ng/L", "grains"])
def test_concentrations_given_in_another_unit(unit: str) -> None:
    """The same figures would be another concentration, and pass for the standard's."""
    assert _unit_of_method() == "ug/L"
    assert _codes(DOCUMENT, KNOWN, given_in={"": unit}) == ["nominal-unit-differs"]
    assert _codes(DOCUMENT, KNOWN, given_in={"": "ug/L", "Pb": unit}) == ["nominal-unit-differs"], "of the element"
    (told,) = check_run(DOCUMENT, KNOWN, given_in={"": unit})  # type: ignore[misc]
    assert f"in {unit_shown(unit)};" in told.what
    assert "µg/L" in told.what


def test_the_same_unit_otherwise_named_or_no_concentration_given() -> None:
    assert _codes(DOCUMENT, KNOWN, given_in={"": "ng/mL"}) == []
    assert _codes(DOCUMENT, KNOWN, given_in={"Cd": "mg/L"}) == []
    columns = replace(DOCUMENT.solutions, nominal=("",) * len(DOCUMENT.solutions.nominal))
    assert _codes(replace(DOCUMENT, solutions=columns), KNOWN, given_in={"": "mg/L"}) == []
