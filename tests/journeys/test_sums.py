"""Lead and cadmium of the demo's plates together, from the specification to the export. All invented."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, Line
from tests.journeys.test_demo import trust

from benchseal.desk import deliveries
from benchseal.desk.acts_certificates import ApproveCertificate, DraftCertificate, ReleaseCertificate
from benchseal.desk.acts_deliveries import PlanDelivery
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.gathering import look, sums_now
from benchseal.desk.perform import perform
from benchseal.desk.reading import load, sample_of_lot
from benchseal.desk.sealing import finish
from benchseal.desk.sums import sum_refusals
from benchseal.problems import Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.results import Quantified
from benchseal.shipped import starter
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from tests.conftest import Stage

SUM = """sums:
  - id: pb-cd
    elements: [Pb, Cd]
    quantity: release_per_area
    unit: 'mg/dm2'
    bound: upper_bound
    upper: '{upper}'
    rule: simple
    rounding: half_up
    decimals: -1
    exceedance_means: {means}
    limit_source: 'invented'
"""


def in_force(stage: Stage, document: str) -> None:
    added = perform(stage.site, AddDocument(document.encode(), "it.yaml"), stage.key(ANALYST)).data
    perform(stage.site, ApproveDocument(f"{added['kind']}/{added['id']}"), stage.key(APPROVER))


def asking(stage: Stage, upper: str = "0.90", means: str = "notify") -> None:
    """The plates' specification with a sum."""
    in_force(stage, starter("specifications/flat-ware.yaml") + SUM.format(upper=upper, means=means))


def measured(stage: Stage) -> None:
    """The file that waits in the demo, brought in, submitted and reviewed."""
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    runs: Any = tuple(perform(stage.site, IngestFile(data, "plates.txt", "", ()), stage.key(ANALYST)).data["runs"])  # type: ignore[arg-type]
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))


def refused(stage: Stage, lot: str = "C-1", comment: str = "") -> dict[str, str]:
    """Codes and words of what keeps a lot back, as ``certificate why-not`` finds them."""
    with stage.site.store.reading() as view:
        refusals, _ = look(view, sample_of_lot(view, lot), comment)
    return {one.code: one.what for one in refusals if ", sum " in one.where}


def released(stage: Stage) -> str:
    drafted = perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST))
    assert drafted.said[1].startswith("sum pb-cd (upper bound), mg/dm2: Pb 0.3")
    assert drafted.said[1].endswith("; complies")
    number = str(drafted.data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    finish(stage.site, number)
    return number


def test_from_the_specification_to_a_certificate_that_verifies_and_its_export(
    stage: Stage, capsys: pytest.CaptureFixture[str]
) -> None:
    asking(stage)
    measured(stage)
    assert refused(stage) == {}
    number = released(stage)
    report = verify_certificate(stage.pdf(number), trust(stage))
    assert report.word == "GENUINE", report.lines()
    assert verify_site(stage.site).findings == ()
    with stage.site.store.reading() as view:
        row = view.row("certificate", number=number)
        assert row is not None
        evidence = load(view, Evidence, row["evidence"])
        assert [one["result_id"] for one in view.rows("released", number=number)] == sorted(
            line.result_id for line in evidence.printed
        )
    (worked,) = evidence.sums
    shown = Line(stage.site.folder, capsys)("certificate", "show", number, by=(ANALYST,))
    assert "sum pb-cd (upper bound), mg/dm2: Pb 0.3" in shown.out
    (told,) = Line(stage.site.folder, capsys)("certificate", "show", number, "--json", by=(ANALYST,)).json["sums"]
    assert told["sum_id"] == worked.sum_id
    assert isinstance(worked.outcome, Quantified)
    parts = [basis.result.outcome for basis in evidence.results]
    total = sum(float(one.value) for one in parts if isinstance(one, Quantified))
    assert float(worked.outcome.value) == pytest.approx(total, rel=1e-11)
    profile, outbox = starter("profiles/comma-utf8.yaml"), str(stage.site.outbox.resolve())
    with pytest.raises(Stopped) as stop:
        perform(stage.site, PlanDelivery("comma-utf8", outbox), stage.key(ANALYST))
    assert {"export.sum-not-shown"} <= {one.code for one in stop.value.notices}
    profile = profile.replace("field: element_symbol, when_missing: refuse", "field: element_symbol")
    in_force(
        stage, profile + "  - {title: sum_elements, field: sum_elements}\n  - {title: sum_bound, field: sum_bound}\n"
    )
    planned = perform(stage.site, PlanDelivery("comma-utf8", outbox), stage.key(ANALYST)).data
    file = Path(str(deliveries.finish(stage.site, str(planned["delivery"])).data["file"]))
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").lstrip("\ufeff").splitlines()))
    (own,) = (one for one in rows if one["sum_elements"])
    assert (own["sum_elements"], own["sum_bound"], own["element_symbol"]) == ("Pb Cd", "upper_bound", "")
    assert own["result_id"] == worked.sum_id


@pytest.mark.refuses("OOS III")
def test_a_sum_above_its_limit_keeps_the_lot_back_where_it_must_be_investigated(stage: Stage) -> None:
    asking(stage, "0.20", "investigate")
    measured(stage)
    said = refused(stage, comment="weighed")
    assert set(said) == {"certificate.held"}
    assert "sum pb-cd is outside its limit" in said["certificate.held"]
    with pytest.raises(Stopped) as stop:
        perform(stage.site, DraftCertificate("C-1", "weighed"), stage.key(ANALYST))
    assert [one.code for one in stop.value.notices] == ["certificate.held"]
    with stage.site.store.reading() as view:
        sums = [one for one, _ in sums_now(view, sample_of_lot(view, "C-1"))]
    (alone,) = sum_refusals("C-1", sums, "weighed")
    assert alone.code == "certificate.sum-held", "kept back also where no review has opened anything yet"
    assert "the sum of Pb and Cd is outside its limit" in alone.what
    assert list(sum_refusals("C-1", sums, "weighed", {"pb-cd"})) == []


def test_a_sum_near_its_limit_asks_for_a_comment(stage: Stage) -> None:
    asking(stage, "0.34")
    measured(stage)
    assert set(refused(stage)) == {"certificate.comment-required"}
    assert refused(stage, comment="weighed") == {}


def test_a_part_that_is_not_there_takes_the_sum(stage: Stage) -> None:
    asking(stage)
    said = refused(stage)
    assert said == {"certificate.no-sum": "not determined: a part has no value (Pb: no result; Cd: no result)"}
