"""Lead of the demo's plates above a limit that asks to investigate: files, people and the steps. All invented."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pytest
from tests.conftest import TestClock, cheap_hashes
from tests.desk.putting import read_anew
from tests.journeys.commands import ANALYST as FIRST_ANALYST
from tests.journeys.commands import APPROVER, REVIEWER, SECOND_APPROVER, TRACE_ANALYST
from tests.journeys.test_additions import row
from tests.journeys.test_stored import CURVE, file_of, method, own, section, standards

from benchseal.desk.acts_certificates import DraftCertificate
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_investigations import (
    AnswerLine,
    CloseInvestigation,
    EvaluateResults,
    FindCause,
    FindNoCause,
    InvalidateResult,
    PlanReadings,
    StateAsAnalyst,
)
from benchseal.desk.acts_registers import AddPreparation, AddRegister
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.admission import Password
from benchseal.desk.cases import Case, case_of
from benchseal.desk.gathering import look
from benchseal.desk.perform import perform
from benchseal.desk.reading import sample_of_lot
from benchseal.desk.site import open_site
from benchseal.problems import Stopped
from benchseal.records.investigation import LINES
from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.demo.play import Played
    from benchseal.desk.acting import Receipt
    from benchseal.desk.site import Site

LOT = "C-1"
HIGH, GOOD = 6.6, 2.2  # mg/L in the leachate: 0.92 and 0.31 mg/dm2; the limit is 0.8
COLUMNS = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,area_dm2,added_ug\n"
ZONE = ZoneInfo("Europe/Lisbon")
PROOF = b"bench log page 12, seen by E. Farrow"


def specification(means: str = "investigate", upper: str = "0.8", single: str = "") -> bytes:
    """The demo's plates judged by lead alone. means: what an exceedance asks for. single: limit of each plate."""
    text = starter("specifications/flat-ware.yaml").partition("  - element: Cd")[0]
    assert "exceedance_means: notify" in text
    limits = f"'{upper}'" + (f"\n    portion_upper: '{single}'" if single else "")
    return text.replace("exceedance_means: notify", f"exceedance_means: {means}").replace("'0.8'", limits).encode()


@dataclass
class World:
    """A copy of the demo days later, its clock in hand, with method and specification for lead from plates in force."""

    site: Site
    clock: TestClock
    sample: str = ""
    batches: int = 0
    files: int = 0

    def key(self, person: str) -> Password:
        lines = (self.site.private / "demo-people.txt").read_text(encoding="utf-8").splitlines()
        return Password(person, dict(line.split("\t")[:2] for line in lines)[person])

    def do(self, act: object, *people: str) -> Receipt:
        return perform(self.site, act, *map(self.key, people))

    def refusals(self, act: object, *people: str) -> list[str]:
        """Codes of what stops an act."""
        with pytest.raises(Stopped) as stop:
            self.do(act, *people)
        assert all(one.what and one.remedy for one in stop.value.notices)
        return [one.code for one in stop.value.notices]

    def document(self, text: bytes, name: str) -> None:
        added = self.do(AddDocument(text, name), FIRST_ANALYST).data
        self.do(ApproveDocument(f"{added['kind']}/{added['id']}"), APPROVER)

    def later(self, **by: float) -> datetime:
        self.clock.now += timedelta(**by)
        return self.clock.now

    def prepared(self, sample: str = "") -> str:
        """Four plates of a new batch with a blank and a control; the batch."""
        self.batches += 1
        batch = f"WR-{40 + self.batches}"
        letter = chr(ord("A") + self.batches)
        tail = f"{FIRST_ANALYST},{self.later(hours=1).astimezone(ZONE):%Y-%m-%dT%H:%M:%S}"
        rows = [f"{letter}-MB,{batch},method_blank,,Pb,350,{tail},,"]
        rows.append(f"{letter}-CS,{batch},control_sample,,Pb,350,{tail},,Pb 1050")
        rows += [f"{letter}-{n},{batch},sample,{sample or self.sample},Pb,350,{tail},2.50," for n in range(1, 5)]
        self.later(hours=1)
        self.do(AddPreparation((COLUMNS + "\n".join(rows) + "\n").encode(), f"{batch}.csv"), FIRST_ANALYST)
        return letter

    def file(self, letter: str, holds: float, analyst: str, *, check: float = 1.0, last: float = 0.0) -> bytes:
        """A file of the four plates, begun an hour from now. check: what the last check standard finds, as a share.

        last: what the last plate holds more than the others.
        """
        self.files += 1
        begun = self.later(hours=1).astimezone(ZONE)
        wet = [one.replace("V-MB", f"{letter}-MB").replace("V-CS", f"{letter}-CS") for one in own(1.0, 0.0)]
        rows = [*standards(), *wet]
        plates = [holds + 0.01 * n + (last if n == 4 else 0.0) for n in range(1, 5)]
        rows += [row(f"{letter}-{n}", "P", CURVE * plate) for n, plate in enumerate(plates, 1)]
        rows += [row("Pb-CK1", "C", CURVE * 5 * check), row("Pb-CB1", "CZ", 0.0002)]
        text = section(f"{begun:%H.%M.%S}", rows, f"{begun:%d.%m.%Y}")
        return read_anew(file_of(text.replace("maren.holt", analyst.removeprefix("p-"))), self.files - 1)

    def ingest(self, data: bytes, analyst: str = FIRST_ANALYST) -> Receipt:
        self.later(hours=1)
        return self.do(IngestFile(data, f"plates-{self.files}.txt", "", ()), analyst)

    def measured(
        self, holds: float, analyst: str = FIRST_ANALYST, *, sample: str = "", review: bool = True, last: float = 0.0
    ) -> str:
        """One whole run, reviewed; its number."""
        done = self.ingest(self.file(self.prepared(sample), holds, analyst, last=last), analyst)
        run = only_run(done)
        if review:
            self.reviewed(run, analyst)
        return run

    def reviewed(self, run: str, analyst: str = FIRST_ANALYST) -> None:
        self.do(SubmitRuns((run,)), analyst)
        self.do(AcceptRuns((run,)), REVIEWER)

    def another_sample(self, lot: str = LOT) -> str:
        """One more sample of the customer of the plates; its number."""
        day = f"{self.later(hours=1).astimezone(ZONE):%Y-%m-%d}"
        head = (
            "lot,product,customer,specification,customer_sample_id,description,condition,quantity_received,"
            "received_on,sampled_on,sampled_by,order\n"
        )
        line = f"{lot},Glazed plate,selby,flat-ware,X{self.clock.now:%H%M%S},plates,whole,8 plates,{day},,,\n"
        done = self.do(AddRegister("sample", (head + line).encode(), "samples.csv"), FIRST_ANALYST)
        samples = done.data["samples"]
        assert isinstance(samples, list)
        return str(samples[0])

    # ------------------------------------------------------------------ steps of an investigation

    def case(self, name: str = "I-00002") -> Case:
        with self.site.store.reading() as view:
            return case_of(view, name)

    def kinds(self, name: str = "I-00002") -> list[tuple[str, str]]:
        """Run and kind of each result of a case."""
        return [(one["run"], one["kind"]) for one in self.case(name).results]

    def answer_all(self, name: str = "I-00002", phase: int = 1) -> None:
        for line in LINES:
            if line.phase == phase:
                self.do(AnswerLine(name, line.name, "as it should be", PROOF, ""), REVIEWER)

    def state(self, name: str = "I-00002") -> None:
        self.do(StateAsAnalyst(name, "nothing unusual was seen", ""), FIRST_ANALYST)

    def no_cause(self, name: str = "I-00002") -> None:
        self.answer_all(name)
        self.do(FindNoCause(name, "every line is in order"), REVIEWER)

    def no_cause_but(self, answered: str, name: str = "I-00002") -> None:
        """As ``no_cause``, one line having been answered before."""
        for line in LINES:
            if line.phase == 1 and line.name != answered:
                self.do(AnswerLine(name, line.name, "as it should be", PROOF, ""), REVIEWER)
        self.do(FindNoCause(name, "every line is in order"), REVIEWER)

    def cause(self, name: str = "I-00002", *also: str) -> None:
        self.answer_all(name)
        self.state(name)
        self.do(FindCause(name, "dilution", "diluted 1 to 5, not 1 to 10", PROOF, "", also), REVIEWER)

    def invalidated(self, name: str = "I-00002") -> None:
        self.cause(name)
        self.do(InvalidateResult(name, "the log proves it"), APPROVER)

    def evaluated(self, name: str = "I-00002") -> None:
        if "production" not in self.case(name).answers:
            self.answer_all(name, 2)
        self.do(EvaluateResults(name, "they say the same"), REVIEWER)

    def closed(self, outcome: str, name: str = "I-00002") -> None:
        self.do(CloseInvestigation(name, outcome, "all results weighed"), APPROVER)

    def blockers(self, lot: str = LOT) -> dict[str, str]:
        """Code to words of what keeps a lot from its certificate."""
        with self.site.store.reading() as view:
            refusals, _ = look(view, sample_of_lot(view, lot))
        return {one.code: f"{one.what} {one.remedy}" for one in refusals}

    def conclusion(self, lot: str = LOT) -> str:
        return str(self.do(DraftCertificate(lot, "weighed"), FIRST_ANALYST).data["conclusion"])


def only_run(done: Receipt) -> str:
    """The one run of a file."""
    runs = done.data["runs"]
    assert isinstance(runs, list)
    assert len(runs) == 1, done.notices
    return str(runs[0])


def plan(kind: str, readings: int = 1, analyst: str = TRACE_ANALYST, **changes: Any) -> PlanReadings:  # noqa: ANN401
    """A plan that nothing is wrong with, but for ``changes``."""
    fields: dict[str, Any] = {
        "investigation": "I-00002",
        "kind": kind,
        "readings": readings,
        "analyst": analyst,
        "sample": "",
        "rule": "each within the limit",
        "rationale": "enough is left of the sample",
        "same_analyst_reason": "",
        "evidence": b"",
        "evidence_name": "",
        **changes,
    }
    return PlanReadings(**fields)


def world_of(played: Played, folder: Path) -> World:
    """The demo's site three days later."""
    shutil.copytree(played.site.folder, folder)
    clock = TestClock(now=datetime.now(UTC).replace(hour=6, minute=0, second=0, microsecond=0) + timedelta(days=3))
    made = World(open_site(folder, clock=clock, hashes=cheap_hashes), clock)
    for text, name in (
        (method(""), "lead.yaml"),
        (specification(), "ware.yaml"),
    ):
        made.document(text, name)
    with made.site.store.reading() as view:
        made.sample = sample_of_lot(view, LOT)["sample"]
    return made


def copied(world: World, folder: Path) -> World:
    """The same site in another folder, its clock where it was."""
    shutil.copytree(world.site.folder, folder)
    clock = TestClock(now=world.clock.now)
    site = open_site(folder, clock=clock, hashes=cheap_hashes)
    return World(site, clock, world.sample, world.batches, world.files)


__all__ = [
    "APPROVER",
    "FIRST_ANALYST",
    "REVIEWER",
    "SECOND_APPROVER",
    "TRACE_ANALYST",
    "World",
    "copied",
    "only_run",
    "plan",
    "world_of",
]
