"""Certificates sealed by earlier programs: what was read once is read for good; nothing whole is called altered."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import TYPE_CHECKING

import pikepdf
import pytest

from benchseal.certificate.wording import WORDING
from benchseal.records.evidence import Evidence
from benchseal.records.shape import read_record, record_bytes
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from benchseal.verify.report import Report

HOME = Path(__file__).parents[2] / "fixtures" / "evidence"
READ = ("made-by-55b3893", "made-by-77f001c", "made-by-9def177")
BEFORE_THE_RULE = ("made-by-1dba117", "made-by-a4b6299")


def report_of(name: str) -> Report:
    trust = read_trust(json.loads((HOME / f"{name}.trust.json").read_bytes()))
    assert isinstance(trust, Trust), trust
    return verify_certificate((HOME / f"{name}.pdf").read_bytes(), trust)


def evidence_in(name: str) -> bytes:
    with pikepdf.open(io.BytesIO((HOME / f"{name}.pdf").read_bytes())) as pdf:
        return bytes(pdf.attachments["evidence.json"].get_file().read_bytes())


def test_every_file_is_looked_at() -> None:
    assert {path.stem for path in HOME.glob("*.pdf")} == {*READ, *BEFORE_THE_RULE}


@pytest.mark.parametrize("name", READ)
def test_evidence_of_an_earlier_program_reads_back_to_its_bytes(name: str) -> None:
    data = evidence_in(name)
    evidence = read_record(Evidence, data)
    assert record_bytes(evidence) == data
    assert evidence.schema == "evidence/1"
    assert evidence.wording <= WORDING


@pytest.mark.parametrize("name", READ)
def test_its_certificate_is_still_genuine(name: str) -> None:
    """Raising the calculation rules turns this into UNKNOWN with both rule numbers; anything else is a fault."""
    report = report_of(name)
    assert report.word == "GENUINE", [check.said for check in report.checks if not check.holds]


@pytest.mark.parametrize("name", BEFORE_THE_RULE)
def test_one_of_a_form_never_released_is_not_called_altered(name: str) -> None:
    report = report_of(name)
    assert report.word == "UNKNOWN"
    assert [check.name for check in report.checks if not check.holds] == ["evidence"]
    assert "benchseal 0.1.0" in next(check.said for check in report.checks if check.name == "evidence")
