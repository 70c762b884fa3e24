"""Invented runs for tests, written as what was presented; never evidence that a number is right.

``pb_method`` is a furnace line in ug/L with every kind of check; ``run_of`` turns ``Shot`` rows into a ``Run``;
``bench_of`` knows what the portions are. Signals follow ``pb_signal`` unless a shot gives its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.records.known import Bench
from benchseal.records.method import CalibrationPlan, CheckRule, Method, ReplicateRule, Standard, UncertaintyPlan
from benchseal.records.preparation import Portion
from benchseal.records.registers import Sample, SampleRow, StandardLot
from benchseal.records.run import (
    DocumentRef,
    MeanColumns,
    ReadingColumns,
    Run,
    RunDocument,
    RunFacts,
    SolutionColumns,
    SolutionKind,
)
from benchseal.records.specification import Requirement, Specification

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

LEDGER = "0" * 64
METHOD_REF = DocumentRef("pb-furnace", 1, "1" * 64)
SPECIFICATION_REF = DocumentRef("lozenge", 1, "2" * 64)
LAYOUT_REF = DocumentRef("layout", 1, "3" * 64)
LEVELS = ("0", "1", "2.5", "5", "10", "15", "20")
BATCH = "T-1"


@dataclass(frozen=True, slots=True)
class Shot:
    """One solution presented. holds: concentration its readings follow; signals: the readings instead, as text.

    portion: label of its portion in ``batch``, or empty. scatter: relative spread of its three readings. background: of
    each reading, or empty.
    """

    kind: SolutionKind
    label: str
    holds: float = 0.0
    portion: str = ""
    dilution: str = "1"
    nominal: str = ""
    signals: tuple[str, ...] | None = None
    scatter: float = 0.01
    batch: str = BATCH
    background: str = ""


def pb_signal(holds: float) -> float:
    """Absorbance of the invented curve."""
    return 0.0015 + 0.00293 * holds


def readings_of(shot: Shot) -> tuple[str, ...]:
    """Three readings around the curve, or the shot's own."""
    if shot.signals is not None:
        return shot.signals
    return tuple(f"{pb_signal(shot.holds) * (1 + shot.scatter * side):.7f}" for side in (-1, 0, 1))


def rule(check: str, **changes: object) -> CheckRule:
    """A check rule of the usual shape: 90 to 110 percent, or 0.5 in the solution for blanks."""
    blank = check.endswith("blank")
    usual = CheckRule(
        id=check.replace("_", "-"),
        check=check,  # type: ignore[arg-type]
        limit_in="solution" if blank else "percent",
        low="" if blank else "90",
        high="0.5" if blank else "110",
        source="test",
        confirmed=False,
        expected="10" if check in {"second_source", "check_standard"} else "",
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


BRACKETS = (
    rule("check_standard", every=10, at_end=True, brackets=True),
    rule("check_blank", every=10, at_end=True, brackets=True),
)
ALL_RULES = (
    rule("second_source"),
    *BRACKETS,
    rule("method_blank"),
    rule("control_sample", low="80", high="120"),
    rule("reference_material", low="80", high="120"),
    rule("spike", low="75", high="125"),
    rule("portions_agree", low="", high="20"),
)


def pb_method(**changes: object) -> Method:
    """Lead by furnace, a line through seven levels in ug/L, fitted on readings."""
    usual = Method(
        kind="method",
        id="pb-furnace",
        title="Lead by graphite furnace",
        technique="furnace",
        element="Pb",
        wavelength_nm="283.3",
        slit_nm="0.7",
        background_correction="deuterium",
        signal_is="absorbance",
        signal_unit="A s",
        solution_unit="ug/L",
        file_names=("Pb",),
        fraction="total",
        standards=tuple(Standard(f"S{place}", level) for place, level in enumerate(LEVELS)),
        calibration=CalibrationPlan("line", "none", "readings", 5, "15", "30", "0.990", "test"),
        replicates=ReplicateRule(3, "10", "1", "test"),
        checks=BRACKETS,
        lowest_level="1",
        lowest_level_source="test",
        detection_level="0.3",
        detection_level_source="test",
        blank_subtraction="none",
        uncertainty=UncertaintyPlan("0.0005", "0.3", "0.5", "6", "2", "test"),
        operating_conditions=(),
        cautions=(),
        references=(),
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def standards() -> tuple[Shot, ...]:
    """The calibration, each level a little off its curve so that the fit has something to scatter about."""
    off = (0.0, 0.02, -0.02, 0.03, -0.04, 0.05, -0.03)
    return tuple(
        Shot("standard", f"S{place}", float(level) + off[place], nominal=level) for place, level in enumerate(LEVELS)
    )


def pair(standard: float = 10.0, blank: float = 0.05) -> tuple[Shot, ...]:
    """A check standard and a check blank."""
    return (Shot("check_standard", "CS", standard), Shot("check_blank", "CB", blank))


def samples(labels: Iterable[str], holds: float = 5.0) -> tuple[Shot, ...]:
    """One shot for each portion label."""
    return tuple(Shot("sample", label, holds, portion=label) for label in labels)


def run_of(shots: Sequence[Shot], method: Method | None = None, hidden: Iterable[int] = ()) -> Run:
    """A run that presented ``shots`` in this order from position 1; hidden positions hold nothing but their place."""
    chosen, away = method or pb_method(), frozenset(hidden)
    seen = [Shot("sample", "", signals=()) if place in away else shot for place, shot in enumerate(shots, start=1)]
    texts = [readings_of(shot) for shot in seen]
    lines: list[int] = []
    next_line = 10
    for shot, own in zip(shots, texts, strict=True):  # a hidden solution keeps its lines of the file
        lines.extend(range(next_line, next_line + len(own)))
        next_line += len(readings_of(shot))
    firsts = [sum(len(own) for own in texts[:place]) for place in range(len(texts))]
    flat = [text for own in texts for text in own]
    document = RunDocument(
        schema="run-document/1",
        source_name="invented.txt",
        source_sha256="4" * 64,
        source_bytes=1,
        layout=LAYOUT_REF,
        facts=_facts(chosen),
        solutions=SolutionColumns(
            position=tuple(range(1, len(seen) + 1)),
            label=tuple(shot.label for shot in seen),
            kind=tuple(shot.kind for shot in seen),
            nominal=tuple(shot.nominal for shot in seen),
            dilution=tuple(shot.dilution for shot in seen),
            first_reading=tuple(firsts),
            reading_count=tuple(len(own) for own in texts),
        ),
        readings=ReadingColumns(
            signal=tuple("" if text.isalpha() else text for text in flat),
            as_read=tuple(flat),
            line=tuple(lines),
            column=(20,) * len(flat),
            replicate=tuple(place + 1 for own in texts for place in range(len(own))),
            taken_at=("",) * len(flat),
            background=tuple(shot.background for shot, own in zip(seen, texts, strict=True) for _ in own),
            flag=tuple(_flag(text) for text in flat),
        ),
        means=MeanColumns((), (), ()),
    )
    return Run(
        document=document,
        method=chosen,
        method_ref=METHOD_REF,
        instrument="AA-1",
        measured_at="2026-03-02T08:00:00Z",
        portion=tuple((shot.batch, shot.portion) if shot.portion else ("", "") for shot in seen),
        hidden=tuple(place in away for place in range(1, len(seen) + 1)),
        standard_lots=("PB-CAL", "PB-SEC"),
    )


def _flag(text: str) -> str:
    return {"over": "over_range", "none": "missing"}.get(text, "")


def _facts(method: Method) -> RunFacts:
    return RunFacts(
        element=method.element,
        wavelength_nm=method.wavelength_nm,
        technique=method.technique,
        instrument_serial="1",
        operator="",
        method_name="Pb",
        started_at="2026-03-02T09:00:00",
        signal_is=method.signal_is,
        signal_unit=method.signal_unit,
        background_correction="",
        line=1,
    )


def portion_of(label: str, sample: str = "S-00001", **changes: object) -> Portion:
    """0.5 g in 25 mL, so that 1 ug/L is 0.05 ug/g."""
    usual = Portion(
        portion=label,
        batch=BATCH,
        kind="sample",
        sample=sample,
        elements=("Pb",),
        volume_ml="25.0",
        prepared_by="p-a",
        prepared_at="2026-03-01T08:00:00Z",
        mass_g="0.5000",
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def requirement_of(**changes: object) -> Requirement:
    """Lead at most 0.50 ug/g, simple rule, three places, one portion."""
    usual = Requirement(
        element="Pb",
        quantity="content",
        unit="ug/g",
        methods=("pb-furnace",),
        portions=1,
        lower="",
        upper="0.50",
        rule="simple",
        rounding="half_up",
        decimals=3,
        exceedance_means="investigate",
        limit_source="test",
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def bench_of(
    portions: Iterable[Portion],
    requirements: Sequence[Requirement] | None = None,
    lots: Mapping[str, StandardLot] | None = None,
) -> Bench:
    """A bench that knows ``portions``, their samples, one specification and two lots of lead standard."""
    own = {(one.batch, one.portion): one for one in portions}
    specification = Specification(
        kind="specification",
        id="lozenge",
        title="Lozenge",
        product="Lozenge",
        customer="C-1",
        unit_name="lozenge",
        agreed="2026-01-01",
        requirements=tuple((requirement_of(),) if requirements is None else requirements),
    )
    numbers = sorted({one.sample for one in own.values() if one.sample})
    return Bench(
        ledger=LEDGER,
        portions=own,
        samples={number: Sample(number, _row(number)) for number in numbers},
        specifications={"lozenge": (SPECIFICATION_REF, specification)},
        lots=lots if lots is not None else {"PB-CAL": _lot("PB-CAL"), "PB-SEC": _lot("PB-SEC")},
    )


def _row(number: str) -> SampleRow:
    return SampleRow(
        lot=f"L-{number}",
        product="Lozenge",
        customer="C-1",
        specification="lozenge",
        customer_sample_id="",
        description="",
        condition="",
        quantity_received="",
        received_on="2026-02-27",
        sampled_on="",
        sampled_by="",
        order="",
    )


def _lot(lot: str) -> StandardLot:
    return StandardLot(
        lot=lot,
        element="Pb",
        purpose="calibration" if lot.endswith("CAL") else "second_source",
        value="1000",
        unit="mg/L",
        u_percent="0.5",
        maker="",
        certificate="",
        in_use_from="2026-01-01",
        expires_on="2027-01-01",
    )
