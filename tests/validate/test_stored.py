"""A file on the curve of an earlier run: bound to a copy of its readings, and each rule that must stop it broken."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import Shot, run_of
from tests.compute.storing import checks, opening, shot, stored_method, zeroed
from tests.validate.test_check import KNOWN, METHOD, METHOD_REF

from benchseal.records.known import Known, Lent
from benchseal.records.registers import Instrument, StandardLot
from benchseal.records.run import Run
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.problems import Problem
    from benchseal.records.method import Method
    from benchseal.records.run import RunDocument

GAIN = 0.95
LOT = StandardLot("L-204", "Pb", "calibration", "1000", "mg/L", "0.2", "a maker", "C-88", "2026-01-02", "2026-12-31")
INSTRUMENT = Instrument("AA-1", "1", "furnace", "UTC", "2025-01-07")


def usual_method() -> Method:
    plain = stored_method()
    return replace(plain, file_names=("Pb",), background_correction="", signal_unit="A.s", slit_nm=METHOD.slit_nm)


def lender(**changes: Any) -> Lent:  # noqa: ANN401  fields of a record by name
    """A reviewed run of the day before."""
    run = run_of((*zeroed(), *checks(1.0), *checks(1.0)), usual_method())
    bound = replace(run, method_ref=METHOD_REF, measured_at="2026-03-01T10:00:00Z", standard_lots=("L-204",))
    usual = Lent("R-00003", "reviewed", 2, "a" * 64, bound, usable=True, good=True)
    return replace(usual, **changes)


def lending(**changes: Any) -> Lent:  # noqa: ANN401  fields of its run by name
    return lender(run=replace(lender().run, **changes))


def document(shots: Sequence[Shot] | None = None) -> RunDocument:
    """A file that begins at nine on the second of March."""
    own = (*opening(GAIN), *checks(GAIN)) if shots is None else shots
    found = run_of(own, usual_method()).document
    return replace(found, layout=replace(found.layout, digest="3" * 64))


def known(lent: Lent | None, method: Method | None = None, **changes: Any) -> Known:  # noqa: ANN401
    usual = replace(
        KNOWN,
        methods=((METHOD_REF, method or usual_method()),),
        instruments=(INSTRUMENT,),
        standard_lots=(LOT,),
        lent=() if lent is None else (lent,),
    )
    return replace(usual, **changes)


def problems(found: Run | tuple[Problem, ...]) -> list[str]:
    return [] if isinstance(found, Run) else [one.code.removeprefix("validate.") for one in found]


def test_the_run_is_bound_to_a_copy_of_every_reading() -> None:
    lent = lender()
    run = check_run(document(), known(lent))
    assert isinstance(run, Run), [str(one) for one in run]
    (curve,) = run.stored_curve
    assert (curve.run, curve.version, curve.work, curve.measured_at) == ("R-00003", 2, "a" * 64, "2026-03-01T10:00:00Z")
    assert curve.source_sha256 == lent.run.document.source_sha256
    assert [(one.label, one.kind, one.position) for one in curve.solutions] == [
        (f"S{nth}", "standard", nth + 1) for nth in range(7)
    ]
    assert [one.signals for one in curve.solutions] == [one.signals for one in zeroed()]
    assert [one.lines for one in curve.solutions][:2] == [(10, 11, 12), (13, 14, 15)]


def test_a_run_with_its_own_standards_is_bound_to_none() -> None:
    shots = tuple(
        replace(one, kind="calibration_blank") if one.label == "S0" else one for one in (*zeroed(), *checks(1.0))
    )
    run = check_run(document(shots), known(None))
    assert isinstance(run, Run), [str(one) for one in run]
    assert run.stored_curve == ()


def _plan(**changes: str) -> Method:
    return replace(usual_method(), stored_curve=replace(usual_method().stored_curve, **changes))


NONE = {"valid_hours": "", "smallest_factor": "", "largest_factor": "", "source": ""}
_OTHER = replace(METHOD_REF, version=2)
_LENDERS: dict[str, tuple[Lent, Method | None, str, str]] = {
    "a method that allows none": (lender(), _plan(**NONE), "curve-not-allowed", "does not allow"),
    "a draft": (lender(state="draft"), None, "curve-not-reviewed", "is draft"),
    "a run under review": (lender(state="submitted"), None, "curve-not-reviewed", "is submitted"),
    "a reopened run": (lender(state="reopened"), None, "curve-not-reviewed", "is reopened"),
    "a cancelled run": (lender(state="cancelled"), None, "curve-not-reviewed", "is cancelled"),
    "a run whose check failed": (lender(usable=False), None, "curve-unusable", "a check failed"),
    "a run whose calibration failed": (
        lender(usable=False, good=False), None, "curve-unusable", "its calibration failed",
    ),
    "a curve lent on": (lending(stored_curve=("R-00001",)), None, "curve-lent-on", "R-00001"),
    "another version of the method": (lending(method_ref=_OTHER), None, "curve-method", "version 2"),
    "another method": (lending(method_ref=replace(METHOD_REF, id="pb-other")), None, "curve-method", "pb-other"),
    "another instrument": (lending(instrument="AA-2"), None, "curve-instrument", "AA-2"),
    "another lot": (lending(standard_lots=("L-100",)), None, "curve-lot", "L-100"),
    "a second older": (lending(measured_at="2026-03-01T08:59:59Z"), None, "curve-old", "allows 24 hours"),
    "measured after": (lending(measured_at="2026-03-02T09:00:01Z"), None, "curve-later", "after this file"),
}  # fmt: skip


@pytest.mark.parametrize("case", _LENDERS)
def test_a_run_that_cannot_lend_its_curve(case: str) -> None:
    lent, method, code, words = _LENDERS[case]
    if code == "curve-lent-on":
        lent = lending(stored_curve=check_run(document(), known(lender())).stored_curve)  # type: ignore[union-attr]
        words = "R-00003"
    found = check_run(document(), known(lent, method))
    assert not isinstance(found, Run)
    assert problems(found) == [code]
    assert words in found[0].what
    assert found[0].remedy


@pytest.mark.parametrize("at", ["2026-03-01T09:00:00Z", "2026-03-02T09:00:00Z"])
def test_the_ends_of_its_age_are_inside(at: str) -> None:
    assert isinstance(check_run(document(), known(lending(measured_at=at))), Run)


def test_an_expired_lot_stops_the_file_as_ever() -> None:
    old = known(lender(), standard_lots=(replace(LOT, expires_on="2026-03-01"),))
    assert problems(check_run(document(), old)) == ["lot-expired"]


def test_every_reason_is_said_at_once() -> None:
    found = check_run(
        document(), known(lending(instrument="AA-2", standard_lots=("L-1",), measured_at="2026-02-01T09:00:00Z"))
    )
    assert problems(found) == ["curve-lot", "curve-instrument", "curve-old"]


S0, S5 = opening(GAIN)[:2]
_SAMPLE = Shot("rinse", "wash", signals=S0.signals)
_FILES: dict[str, tuple[Sequence[Shot], list[str]]] = {
    "standards of its own": ((S0, S5, zeroed()[3]), ["curve-standards"]),
    "no correction standard": ((S0, *checks(GAIN)), ["correction-standards"]),
    "two correction standards": ((S0, S5, S5), ["correction-standards"]),
    "no blank": ((S5, *checks(GAIN)), ["correction-blank"]),
    "two blanks": ((S0, S5, S0), ["correction-blank"]),
    "a blank far off": ((S0, *checks(GAIN), S5), ["correction-blank"]),
    "content that nobody states": ((S0, replace(S5, label="QC-A")), ["correction-nominal"]),
    "content that differs": ((S0, replace(S5, nominal="14")), ["nominal-differs"]),
    "above the curve": ((S0, replace(S5, label="QC-A", nominal="20.1")), ["correction-outside"]),
    "diluted": ((S0, replace(S5, dilution="2")), ["dilution-of-check"]),
    "a diluted blank": ((replace(S0, dilution="2"), S5), ["dilution-of-check"]),
    "over range": ((S0, replace(S5, signals=("over", "over", "over"))), ["standard-over-range"]),
    "too few readings": ((S0, replace(S5, signals=("0.04", "0.041"))), ["replicates-few"]),
}


@pytest.mark.parametrize("case", _FILES)
def test_a_file_that_cannot_use_a_curve(case: str) -> None:
    shots, codes = _FILES[case]
    found = check_run(document(shots), known(lender()))
    assert not isinstance(found, Run)
    assert problems(found) == codes, [str(one) for one in found]
    assert all(one.remedy for one in found)


@pytest.mark.parametrize(
    ("label", "nominal"), [("S5", ""), ("S5", "15.0"), ("QC-A", "20"), ("QC-A", "0.1"), ("S6", "")]
)
def test_the_concentration_is_the_methods_or_the_one_printed(label: str, nominal: str) -> None:
    found = check_run(document((S0, replace(S5, label=label, nominal=nominal))), known(lender()))
    assert isinstance(found, Run), [str(one) for one in found]


def test_the_blank_may_stand_after_the_standard() -> None:
    assert isinstance(check_run(document((S5, S0, *checks(GAIN))), known(lender())), Run)


@pytest.mark.parametrize("order", ["before both", "between", "before the blank"])
def test_a_sample_before_the_correction(order: str) -> None:
    sample = shot("method_blank", "MB", 0.1, GAIN)
    orders: dict[str, tuple[Shot, ...]] = {
        "before both": (sample, S0, S5), "between": (S0, sample, S5), "before the blank": (S5, sample, S0),
    }  # fmt: skip
    found = problems(check_run(document(orders[order]), known(lender())))
    assert "correction-late" in found


@pytest.mark.parametrize("with_standards", [True, False])
def test_a_correction_standard_where_no_run_is_named(with_standards: bool) -> None:
    calibrated = (replace(zeroed()[0], kind="calibration_blank"), *zeroed()[1:]) if with_standards else (S0,)
    found = check_run(document((*calibrated, S5)), known(None))
    assert not isinstance(found, Run)
    codes = problems(found)
    assert "correction-unplanned" in codes
    assert ("standard-missing" in codes) is not with_standards


_REMEDIES: dict[str, tuple[Callable[[], Method], Sequence[Shot], bool]] = {
    "allowed, no standard": (usual_method, (S0,), True),
    "not allowed": (lambda: _plan(**NONE), (S0,), False),
    "one standard forgotten": (usual_method, (replace(zeroed()[0], kind="calibration_blank"), *zeroed()[1:6]), False),
}


@pytest.mark.parametrize("case", _REMEDIES)
def test_the_refusal_names_the_option_where_it_may_be_meant(case: str) -> None:
    method, shots, named = _REMEDIES[case]
    found = check_run(document(shots), known(None, method()))
    assert not isinstance(found, Run)
    missing = [one for one in found if one.code == "validate.standard-missing"]
    assert missing
    assert all(("--curve-of" in one.remedy) is named for one in missing)
