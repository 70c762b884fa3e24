"""Lead of the demo's plates by standard additions, from sheet and method to the certificate. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.test_demo import ANALYST, APPROVER, REVIEWER, trust

from benchseal.desk.acts_certificates import ApproveCertificate, DraftCertificate, ReleaseCertificate
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_registers import AddPreparation
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.reading import load, sample_of_lot
from benchseal.desk.sealing import finish
from benchseal.problems import Stopped
from benchseal.records.results import Quantified, RunWork
from benchseal.shipped import starter
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.conftest import Stage

HOLDS, SLOPE, CURVE = 2.2, 0.0150, 0.0176  # mg/L in the leachate; A per mg/L in it, and in the standards
ADDED = {"": 0, "a": 1, "b": 2, "c": 3}
PLATES = ("V-1", "V-2", "V-3", "V-4")
COLUMNS = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,area_dm2,added_ug,additions\n"


def method(additions: str = "required") -> bytes:
    """The demo's method for lead from ware, read against its blank, with additions."""
    text = starter("methods/lead-flame-ware.yaml")
    text = text.replace("signal_is: absorbance\n", "signal_is: absorbance_zeroed_on_blank\n")
    limit = "  smallest_r_squared: '0.990025'\n"
    assert limit in text
    rules = f"  additions: {additions}\n  additions_smallest_r: '0.995'\n  additions_source: 'EPA 7000B 9.10.3'\n"
    return text.replace(limit, limit + rules).encode()


def sheet(sample: str) -> bytes:
    """Four plates with four tubes each, and a blank and a control of the same batch."""
    tail = f"{ANALYST},2026-11-18T09:00:00"
    rows = [f"V-MB,WR-09,method_blank,,Pb,350,{tail},,,", f"V-CS,WR-09,control_sample,,Pb,350,{tail},,Pb 1050,"]
    for plate in PLATES:
        tubes = " ".join(f"{plate}{letter}={added}" for letter, added in ADDED.items())
        rows.append(f"{plate},WR-09,sample,{sample},Pb Cd,350,{tail},2.50,,Pb {tubes}")
    return (COLUMNS + "\n".join(rows) + "\n").encode()


def file_of(own: bytes) -> bytes:
    """The file of the demo with the lead section read again: zeroed, and the plates in four tubes each."""
    text = own.decode("latin-1").replace("\r\n", "\n")
    head, lead, rest = text.partition("#Element;Pb")
    lead, rest = (lead + rest).partition("#Element;Cd")[0], "#Element;Cd" + rest.partition("#Element;Cd")[2]
    kept = [line for line in lead.splitlines() if not line[:1].isdigit() and not line.startswith(("#End", "No."))]
    kept = [line.replace("Shown;absorbance;A", "Shown;absorbance above zero;A") for line in kept if line]
    rows = [f"{nth};{row}" for nth, row in enumerate(lead_rows(), start=1)]
    made = "\n".join((*kept, "No.;Tube;Sort;Set to;Thinned;1st;2nd;3rd;Mean", *rows, f"#End;Pb;{len(rows)}", "", ""))
    return (head + made + rest).replace("\n", "\r\n").encode("latin-1")


def lead_rows() -> Iterator[str]:
    levels = ("0", "0.50", "1.00", "2.00", "5.00", "10.00")
    for nth, level in enumerate(levels):
        yield row(f"Pb-S{nth}", "S" if nth else "Z", CURVE * float(level), level.replace(".", ","))
    yield row("Pb-SB", "S2", CURVE * 5)
    yield from (row("Pb-CK0", "C", CURVE * 5), row("Pb-CB0", "CZ", 0.0001))
    yield from (row("V-MB", "MB", 0.0002), row("V-CS", "CS", CURVE * 3))
    for nth, plate in enumerate(PLATES, start=1):
        for letter, added in ADDED.items():
            yield row(f"{plate}{letter}", "P", SLOPE * (HOLDS + 0.02 * nth + added) + 0.0001 * (added % 2))
        yield from (row(f"Pb-CK{nth}", "C", CURVE * 5), row(f"Pb-CB{nth}", "CZ", 0.0001))


def row(label: str, sort: str, signal: float, level: str = "") -> str:
    readings = [f"{signal + by:.4f}" for by in (-0.0002, 0.0001, 0.0002)]
    mean = f"{sum(map(float, readings)) / 3:.4f}"
    return ";".join([label, sort, level, "1", *(text.replace(".", ",") for text in (*readings, mean))])


def prepared(stage: Stage, document: bytes) -> bytes:
    """The site with method and sheet in force; the file to bring in."""
    added = perform(stage.site, AddDocument(document, "lead.yaml"), stage.key(ANALYST)).data
    perform(stage.site, ApproveDocument(f"{added['kind']}/{added['id']}"), stage.key(APPROVER))
    with stage.site.store.reading() as view:
        sample = sample_of_lot(view, "C-1")["sample"]
    perform(stage.site, AddPreparation(sheet(sample), "v.csv"), stage.key(ANALYST))
    return file_of((stage.site.folder / "inbox" / "flame-ware.txt").read_bytes())


def test_from_the_sheet_to_a_certificate_that_verifies(stage: Stage) -> None:
    data = prepared(stage, method())
    done = perform(stage.site, IngestFile(data, "plates.txt", "", ()), stage.key(ANALYST))
    assert done.data["runs"], done.notices
    runs: Any = tuple(done.data["runs"])  # type: ignore[arg-type]
    assert any("the slope of the additions to V-1 is 0.85" in line for line in done.said)
    with stage.site.store.reading() as view:
        work = load(view, RunWork, view.row("run", run=runs[0])["work"])  # type: ignore[index]
    (result,) = work.results
    assert isinstance(result.outcome, Quantified), result.outcome
    assert [one.portion for one in result.portions] == list(PLATES)
    expected = (HOLDS + 0.05) * 0.350 / 2.50
    assert abs(float(result.outcome.value) - expected) < 0.02 * expected
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
    number = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    finish(stage.site, number)
    report = verify_certificate(stage.pdf(number), trust(stage))
    assert report.word == "GENUINE", report.lines()
    assert verify_site(stage.site).findings == ()


def test_a_file_of_tubes_is_refused_by_a_method_without_additions(stage: Stage) -> None:
    text = method().decode().replace("additions: required", "additions: ''").replace("'0.995'", "''")
    data = prepared(stage, text.replace("'EPA 7000B 9.10.3'", "''").encode())
    done = perform(stage.site, IngestFile(data, "plates.txt", "", ()), stage.key(ANALYST))
    assert {notice.code for notice in done.notices} == {"validate.additions-unplanned"}
    assert len(done.notices) == 12
    assert done.data["runs"] == []


@pytest.mark.parametrize("label", ["V-1a", "V-4"])
def test_the_label_of_a_tube_is_taken_in_its_batch(stage: Stage, label: str) -> None:
    prepared(stage, method())
    more = COLUMNS + f"{label},WR-09,method_blank,,Pb,350,{ANALYST},2026-11-18T09:00:00,,,\n"
    with pytest.raises(Stopped) as stop:
        perform(stage.site, AddPreparation(more.encode(), "more.csv"), stage.key(ANALYST))
    assert {notice.code for notice in stop.value.notices} == {"preparation.already"}
