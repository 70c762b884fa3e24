"""Lead of the demo's plates corrected for drift, from the method to the certificate. All invented.

The sensitivity falls by 6 % while the plates are read, the zero rises: read as they are they would be found otherwise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys import test_stored as lead_of_plates
from tests.journeys.test_additions import row
from tests.journeys.test_bracketing import prepared, work_of
from tests.journeys.test_demo import ANALYST, APPROVER, REVIEWER, trust
from tests.journeys.test_stored import HOLDS, PLATES, file_of, section, sheet, standards, with_cadmium

from benchseal.desk.acts_certificates import ApproveCertificate, DraftCertificate, ReleaseCertificate
from benchseal.desk.acts_documents import AddDocument
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.sealing import finish
from benchseal.problems import Stopped
from benchseal.records.results import NotReportable, Quantified
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.conftest import Stage
    from tests.journeys.commands import Line

CURVE = 0.0176  # A per mg/L
REST, LOST = 0.0012, 0.06  # at the end: A, by how much the zero has risen; share of the sensitivity that is gone
TRUE = (HOLDS + 0.05) * 0.350 / 2.50  # mg/dm2, mean of the plates


def method(limit: str = "10") -> bytes:
    """The demo's method for lead from ware, read against its blank, corrected for drift."""
    plan = f"drift: {{largest_percent: '{limit}', source: 'common practice, no source'}}\n" if limit else ""
    return lead_of_plates.method("") + plan.encode()


def lead() -> Iterator[str]:
    """Calibration, a check pair, blank, control, two plates, a check pair, two plates, a check pair."""
    yield from standards()
    yield row("Pb-SB", "S2", CURVE * 5)
    yield from pair(0, 0.0)
    plates = [(plate, "P", HOLDS + 0.02 * nth) for nth, plate in enumerate(PLATES, start=1)]
    own = [("V-MB", "MB", 0.0), ("V-CS", "CS", 3.0), *plates[:2]]
    yield from (row(label, sort, read(holds, 0.15 + nth / 10)) for nth, (label, sort, holds) in enumerate(own))
    yield from pair(1, 0.5)
    yield from (row(label, sort, read(holds, 0.7 + nth / 10)) for nth, (label, sort, holds) in enumerate(plates[2:]))
    yield from pair(2, 1.0)


def pair(nth: int, share: float) -> Iterator[str]:
    yield from (row(f"Pb-CK{nth}", "C", read(5.0, share)), row(f"Pb-CB{nth}", "CZ", read(0.0, share)))


def read(holds: float, share: float) -> float:
    """By the instrument of the moment: its share of the way from the first pair to the last."""
    return REST * share + CURVE * holds * (1 - LOST * share)


def ingested(stage: Stage, data: bytes) -> Any:  # noqa: ANN401  a receipt
    return perform(stage.site, IngestFile(data, "plates.txt", "", ()), stage.key(ANALYST))


def test_from_the_file_to_a_certificate_that_verifies(stage: Stage) -> None:
    prepared(stage, method())
    done = ingested(stage, with_cadmium(file_of(section("14.10.00", [*lead()])), stage))
    assert done.data["runs"], done.notices
    runs: Any = tuple(done.data["runs"])
    work = work_of(stage, runs[0])
    (result,) = work.results
    assert isinstance(result.outcome, Quantified), result.outcome
    assert [(one.drift[0].before, one.drift[0].after) for one in result.portions] == [
        *([((8, 9), (14, 15))] * 2), *([((14, 15), (18, 19))] * 2),
    ]  # fmt: skip
    assert abs(float(result.outcome.value) - TRUE) < 0.01 * TRUE
    assert any("corrected for drift between check pairs, by position" in one for one in work.findings)
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
    number = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    finish(stage.site, number)
    report = verify_certificate(stage.pdf(number), trust(stage))
    assert report.word == "GENUINE", report.lines()
    assert verify_site(stage.site).findings == ()


def test_as_read_the_plates_are_found_otherwise(stage: Stage) -> None:
    prepared(stage, method(""))
    done = ingested(stage, file_of(section("14.10.00", [*lead()])))
    (result,) = work_of(stage, done.data["runs"][0]).results
    assert isinstance(result.outcome, Quantified)
    assert abs(float(result.outcome.value) - TRUE) > 0.01 * TRUE


def test_more_drift_than_the_method_corrects_costs_what_lies_beside(stage: Stage) -> None:
    """At the end 6 % of the span are lost, half way 3 %; the method corrects 4."""
    prepared(stage, method("4"))
    done = ingested(stage, file_of(section("14.10.00", [*lead()])))
    work = work_of(stage, done.data["runs"][0])
    (result,) = work.results
    assert isinstance(result.outcome, NotReportable)
    assert result.outcome.code == "drift.too-large"
    assert [bool(one.value) for one in result.portions] == [True, True, False, False]
    assert work.usable


def test_a_method_without_a_check_pair_is_refused(stage: Stage) -> None:
    loose = method().replace(b"    brackets: true\n", b"")
    with pytest.raises(Stopped) as stopped:
        perform(stage.site, AddDocument(loose, "lead.yaml"), stage.key(ANALYST))
    assert {one.code for one in stopped.value.notices} == {"documents.method-drift-pair"}


def test_through_the_command_line(line: Line, tmp_path: Path) -> None:
    """What is told, what is to be read again, and the worked calculation."""
    answer = line("sample", "list", "--json", by=(ANALYST,))
    (sample,) = [str(one["sample"]) for one in answer.json["samples"] if one["lot"] == "C-1"]
    files = {
        "lead.yaml": method("4"),
        "layout.yaml": lead_of_plates.layout(),
        "v.csv": sheet(sample),
        "plates.txt": file_of(section("14.10.00", [*lead()])),
    }
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    for name, what in (("lead.yaml", "method/lead-flame-ware"), ("layout.yaml", "layout/semicolon-sections")):
        assert line("document", "add", str(tmp_path / name), by=(ANALYST,)).code == 0
        assert line("document", "approve", what, by=(APPROVER,)).code == 0
    came = line("ingest", str(tmp_path / "plates.txt"), "--preparation", str(tmp_path / "v.csv"), by=(ANALYST,))
    assert came.code == 0, came
    again = line("run", "reread", "R-00008", by=(ANALYST,))
    assert "has drifted from the first one by" in again.out, again.out
    assert "calibrate and read again" in again.out
    shown = line("run", "show", "R-00008", by=(ANALYST,))
    assert "corrected for drift between check pairs" in shown.out, shown.out
    told = line("run", "explain", "R-00008", "C-1", by=(ANALYST,))
    assert "Check pairs, by which readings are corrected for drift" in told.out
    assert "Ac = B1 + (A - B) F" in told.out
