"""Lead of the demo's plates read between two standards, from method and layout to the certificate. All invented.

The sensitivity falls by 6 % while the plates are read: read from the curve of the start, they would be found too low.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.journeys.test_additions import row
from tests.journeys.test_demo import ANALYST, APPROVER, REVIEWER, trust
from tests.journeys.test_stored import HOLDS, PLATES, file_of, section, sheet, standards, with_cadmium

from benchseal.desk.acts_certificates import ApproveCertificate, DraftCertificate, ReleaseCertificate
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_registers import AddPreparation
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.reading import load, sample_of_lot
from benchseal.desk.sealing import finish
from benchseal.records.results import NotReportable, Quantified, RunWork
from benchseal.shipped import starter
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.conftest import Stage
    from tests.journeys.commands import Line

CURVE = 0.0176  # A per mg/L
AROUND = (("Pb-S3", 2.0, ""), ("Pb-T1", 2.5, "2,50"), ("Pb-T2", 3.5, "3,50"))


def method(bracketing: str = "required") -> bytes:
    """The demo's method for lead from ware, read against its blank, every portion between two standards."""
    text = starter("methods/lead-flame-ware.yaml")
    text = text.replace("signal_is: absorbance\n", "signal_is: absorbance_zeroed_on_blank\n")
    limit = "  smallest_r_squared: '0.990025'\n"
    assert limit in text
    rules = f"  bracketing: {bracketing}\n  bracketing_window_percent: '20'\n  bracketing_change_percent: '5'\n"
    rules += "  bracketing_source: 'common practice, no source'\n"
    return text.replace(limit, limit + (rules if bracketing else "")).encode()


def layout() -> bytes:
    """The demo's layout with a word for bracket standards."""
    text = starter("layouts/semicolon-sections.yaml")
    line = "  - {code: S2, means: second_source}\n"
    assert line in text
    return text.replace(line, line + "  - {code: SB, means: bracket_standard}\n").encode()


def lead(groups: int = 3) -> Iterator[str]:
    """Calibration, checks, then two plates between each two groups of standards, at a sensitivity that falls."""
    yield from standards()
    yield row("Pb-SB", "S2", CURVE * 5)
    yield from (row("Pb-CK0", "C", CURVE * 5), row("Pb-CB0", "CZ", 0.0002), row("V-MB", "MB", 0.0002))
    gain = 1.0
    yield from around(gain)
    yield row("V-CS", "CS", gain * CURVE * 3)
    for nth, plate in enumerate(PLATES, start=1):
        yield row(plate, "P", (gain - 0.01 * (1 + (nth - 1) % 2)) * CURVE * (HOLDS + 0.02 * nth))
        if nth == 2:
            gain = 0.97
            yield from around(gain) if groups == 3 else ()
    yield from around(0.94)
    yield from (row("Pb-CK1", "C", 0.94 * CURVE * 5), row("Pb-CB1", "CZ", 0.0002))


def around(gain: float) -> Iterator[str]:
    yield from (row(label, "SB", gain * CURVE * holds, printed) for label, holds, printed in AROUND)


def prepared(stage: Stage, document: bytes) -> None:
    """The site with method, layout and sheet in force."""
    for text, name in ((document, "lead.yaml"), (layout(), "layout.yaml")):
        added = perform(stage.site, AddDocument(text, name), stage.key(ANALYST)).data
        perform(stage.site, ApproveDocument(f"{added['kind']}/{added['id']}"), stage.key(APPROVER))
    with stage.site.store.reading() as view:
        sample = sample_of_lot(view, "C-1")["sample"]
    perform(stage.site, AddPreparation(sheet(sample), "v.csv"), stage.key(ANALYST))


def ingested(stage: Stage, data: bytes) -> Any:  # noqa: ANN401  a receipt
    return perform(stage.site, IngestFile(data, "plates.txt", "", ()), stage.key(ANALYST))


def work_of(stage: Stage, run: str) -> RunWork:
    with stage.site.store.reading() as view:
        line = view.row("run", run=run)
        assert line is not None
        return load(view, RunWork, line["work"])


def test_from_the_file_to_a_certificate_that_verifies(stage: Stage) -> None:
    prepared(stage, method())
    done = ingested(stage, with_cadmium(file_of(section("14.10.00", [*lead()])), stage))
    assert done.data["runs"], done.notices
    runs: Any = tuple(done.data["runs"])
    (result,) = work_of(stage, runs[0]).results
    assert isinstance(result.outcome, Quantified), result.outcome
    assert [[one.bracket[0].low.label, one.bracket[0].high.label] for one in result.portions] == [
        ["Pb-S3", "Pb-T1"]
    ] * 4
    expected = (HOLDS + 0.05) * 0.350 / 2.50
    assert abs(float(result.outcome.value) - expected) < 0.01 * expected
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
    number = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    finish(stage.site, number)
    report = verify_certificate(stage.pdf(number), trust(stage))
    assert report.word == "GENUINE", report.lines()
    assert verify_site(stage.site).findings == ()


def test_without_the_group_between_the_sensitivity_changed_too_much(stage: Stage) -> None:
    """From 1.00 to 0.94 is 6.2 % of the mean; the method allows 5. The control is lost too, and with it the run."""
    prepared(stage, method())
    done = ingested(stage, file_of(section("14.10.00", [*lead(groups=2)])))
    work = work_of(stage, done.data["runs"][0])
    (result,) = work.results
    assert isinstance(result.outcome, NotReportable)
    assert result.outcome.code == "run.check"
    assert any("a change of 6.084 %; limit at most 5 %" in finding for finding in work.findings), work.findings
    assert not work.usable


def test_a_method_that_reads_from_its_curve_refuses_the_file(stage: Stage) -> None:
    prepared(stage, method(""))
    done = ingested(stage, file_of(section("14.10.00", [*lead()])))
    assert {notice.code for notice in done.notices} == {"validate.bracket-unplanned"}
    assert len(done.notices) == 3 * len(AROUND)
    assert done.data["runs"] == []


def test_a_file_without_bracket_standards_is_refused(stage: Stage) -> None:
    prepared(stage, method())
    rows = [one for one in lead() if ";SB;" not in one]
    done = ingested(stage, file_of(section("14.10.00", rows)))
    assert {notice.code for notice in done.notices} == {"validate.bracket-missing"}


def test_through_the_command_line(line: Line, tmp_path: Path) -> None:
    """A plate far above the standards: what is told, what is to be read again, and the worked calculation."""
    rows = [row("V-2", "P", CURVE * 4.5) if one.startswith("V-2;") else one for one in lead()]
    answer = line("sample", "list", "--json", by=(ANALYST,))
    (sample,) = [str(one["sample"]) for one in answer.json["samples"] if one["lot"] == "C-1"]
    files = {
        "lead.yaml": method(),
        "layout.yaml": layout(),
        "v.csv": sheet(sample),
        "plates.txt": file_of(section("14.10.00", rows)),
    }
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    for name, what in (("lead.yaml", "method/lead-flame-ware"), ("layout.yaml", "layout/semicolon-sections")):
        assert line("document", "add", str(tmp_path / name), by=(ANALYST,)).code == 0
        assert line("document", "approve", what, by=(APPROVER,)).code == 0
    came = line("ingest", str(tmp_path / "plates.txt"), "--preparation", str(tmp_path / "v.csv"), by=(ANALYST,))
    assert came.code == 0, came
    again = line("run", "reread", "R-00008", by=(ANALYST,))
    assert "dilute, or read it between standards on both sides of it" in again.out, again.out
    assert "bracket standards before and after the portions" in again.out
    assert "none farther than 20 % from it" in again.out
    told = line("run", "explain", "R-00008", "C-1", by=(ANALYST,))
    assert "Standards read around the samples" in told.out
    assert "c = c1 + (c2 - c1) (A - A1) / (A2 - A1)" in told.out
