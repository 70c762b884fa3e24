"""Records to plain values and back, strict in both directions."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from benchseal.records.canonical import digest
from benchseal.records.evidence import Evidence, Supplement
from benchseal.records.manifest import Manifest, Packet
from benchseal.records.preparation import Portion
from benchseal.records.registers import Customer, Instrument, SampleRow, StandardLot
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork, WorkedResult
from benchseal.records.run import RunDocument
from benchseal.records.shape import plain_of, read_record, record_bytes, record_digest, record_of

SAMPLES = Path(__file__).parents[2] / "fixtures" / "schemas"
_KINDS: dict[str, type[Any]] = {
    "preparation-row": Portion,
    "sample-row": SampleRow,
    "standard-lot-row": StandardLot,
    "instrument-row": Instrument,
    "customer-row": Customer,
    "run-document": RunDocument,
    "run-work": RunWork,
    "evidence": Evidence,
    "supplement": Supplement,
    "manifest": Manifest,
    "packet": Packet,
}


def _good(name: str) -> dict[str, Any]:
    value: dict[str, Any] = json.loads((SAMPLES / name / "good.json").read_text(encoding="utf-8"))
    return value


@pytest.mark.parametrize("name", sorted(_KINDS))
def test_round_trip(name: str) -> None:
    record = record_of(_KINDS[name], _good(name))
    assert plain_of(record) == _good(name)
    assert read_record(_KINDS[name], record_bytes(record)) == record


_OUTCOMES = {
    "quantified": Quantified("quantified", "0.62", "0.04", "11", "2", "0.62", "0.08"),
    "below_limit": BelowLimit("below_limit", "0.050", "-0.0012", "<0.050"),
    "not_reportable": NotReportable("not_reportable", "over-range", "above the highest standard"),
}


@pytest.mark.parametrize("kind", sorted(_OUTCOMES))
def test_each_outcome_reads_back_as_itself(kind: str) -> None:
    result = _good("run-work")["results"][0] | {"outcome": plain_of(_OUTCOMES[kind])}
    assert record_of(WorkedResult, result).outcome == _OUTCOMES[kind]


@pytest.mark.parametrize(
    ("change", "path"),
    [
        pytest.param({"colour": "blue"}, "colour", id="unknown field"),
        pytest.param({"mass_g": 0.5}, "mass_g", id="number instead of text"),
        pytest.param({"elements": [1]}, "elements", id="number in a list of texts"),
        pytest.param({"kind": "candle"}, "kind", id="word that is none"),
        pytest.param({"dilutions": {"Pb": [{"aliquot_ml": "5"}]}}, "dilutions", id="field missing deep inside"),
        pytest.param({"volume_ml": None}, "volume_ml", id="nothing"),
    ],
)
def test_refused_with_its_path(change: dict[str, Any], path: str) -> None:
    with pytest.raises(ValueError, match=path):
        record_of(Portion, _good("preparation-row") | change)


@pytest.mark.parametrize("name", sorted(_KINDS))
def test_the_digest_of_a_record_is_that_of_its_bytes(name: str) -> None:
    record = record_of(_KINDS[name], _good(name))
    for one in (record, replace(record), record):
        assert record_digest(one) == digest(record_bytes(one))


@dataclass(frozen=True, slots=True)
class _Held:
    held: bool | int


def test_the_digest_of_a_record_is_never_that_of_an_equal_one() -> None:
    """In Python, true is 1; in the bytes it is not."""
    assert _Held(held=True) == _Held(1)
    assert record_digest(_Held(held=True)) != record_digest(_Held(1))
    assert record_digest(_Held(1)) == digest(b'{"held":1}')
