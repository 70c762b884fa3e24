"""The play: the invented laboratory takes its fortnight the whole way, through the same acts as anybody.

Everything happens within a minute of the machine's own clock; only the instrument files carry times of the fortnight
before. Passwords are random and stand in ``SITE/private/demo-people.txt``, readable by the owner alone.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from benchseal.demo.exceedance import ANSWERS, HYPOTHESIS, STATEMENT
from benchseal.demo.later import supplement, withdraw
from benchseal.demo.people import FLAME_ANALYST, TRACE_ANALYST
from benchseal.demo.scenario import scenario
from benchseal.demo.stage import APPROVER, REVIEWER, Stage, certify
from benchseal.desk import deliveries
from benchseal.desk.acts_certificates import DraftCertificate
from benchseal.desk.acts_deliveries import PlanDelivery
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_investigations import AnswerLine, NoteTold, PlanReadings, StateAsAnalyst
from benchseal.desk.acts_people import AddPerson
from benchseal.desk.acts_plans import MakePlan
from benchseal.desk.acts_registers import AddPreparation, AddRegister
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.clock import Clock, system_clock
from benchseal.desk.founding import Founding, found, trust_of
from benchseal.desk.gathering import look
from benchseal.desk.keys import write_private
from benchseal.desk.reading import sample_of_lot
from benchseal.shipped import starter
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from benchseal.demo.runs import InstrumentFile
    from benchseal.demo.scenario import Scenario
    from benchseal.desk.site import Site
    from benchseal.identity.keys import Hardness
    from benchseal.identity.password_hashes import PasswordHashes


PROFILE = "comma-utf8"
RELEASED_LOTS = ("A-1", "B-1")
BORDERLINE_LOT, HELD_LOT = "A-3", "A-2"
LEFT_LOT, LEFT_FILE = "C-1", "flame-ware.txt"  # left for the reader of the tours, from raw file to certificate
PLANNED_LOTS, PLANNED_METHODS = ("A-1", "A-2"), ("zinc-flame", "magnesium-flame")
INBOX = "inbox"
_COMMENT = (
    "Zinc is 89.96 % of the claim before rounding and 90.0 % after rounding to the places of the limit; "
    "the specification judges the rounded value."
)


@dataclass(frozen=True, slots=True)
class Played:
    """What the play made. whole: whether ``verify --all`` found nothing and every certificate is genuine."""

    site: Site
    runs: tuple[str, ...]
    refused: tuple[str, ...]
    certificates: tuple[str, ...]
    held: tuple[str, ...]
    delivery: str
    entries: int
    whole: bool


def play(  # noqa: PLR0913  all but two by name
    folder: Path,
    tell: Callable[[str], None],
    *,
    clock: Clock = system_clock,
    hashes: PasswordHashes | None = None,
    hardness: Hardness | None = None,
    later: bool = False,
) -> Played:
    """Make a site in ``folder`` and take it the whole way. Raises Stopped where the folder cannot hold one.

    later: go on to what happened after the release: one supplement, one withdrawal.
    hashes, hardness: what a lookup costs a thief; tests lend cheap ones.
    """
    script = scenario((clock() - timedelta(days=16)).date())
    tell(f"Founding {script.laboratory.name}: {len(script.people)} people, two keys.")
    passwords = {someone.person: f"demo {secrets.token_urlsafe(15)}" for someone in script.people}
    founding = Founding(script.laboratory, _founders(script, passwords))
    site = found(folder, founding, clock=clock, hashes=hashes, hardness=hardness)
    _write_passwords(site, script, passwords)
    _write_inbox(site, script)
    stage = Stage(site, passwords, tell)
    _prepare(stage, script)
    runs, refused = _measure(stage, script)
    _review(stage, script, runs)
    _investigate(stage)
    certificates = [_certificate(stage, lot) for lot in RELEASED_LOTS]
    certificates.append(_certificate(stage, BORDERLINE_LOT, _COMMENT))
    held = _held(stage)
    tell(f"Lot {LEFT_LOT} is left for you: {site.folder / INBOX / LEFT_FILE} was not brought in yet.")
    _plan_next(stage)
    delivery = _deliver(stage)
    if later:
        certificates.append(supplement(stage, script, certificates[1]))
        withdraw(stage, certificates[2])
    entries, whole = _verify(stage, certificates)
    every = tuple(run for own in runs.values() for run in own)
    return Played(stage.site, every, refused, tuple(certificates), held, delivery, entries, whole)


def _founders(script: Scenario, passwords: dict[str, str]) -> tuple[AddPerson, ...]:
    return tuple(
        AddPerson(each.person, each.printed_name, each.roles, "invented person of the demo", passwords[each.person])
        for each in script.people
    )


def _write_passwords(site: Site, script: Scenario, passwords: dict[str, str]) -> None:
    lines = [
        f"{each.person}\t{passwords[each.person]}\t{', '.join(each.roles)}: {each.task}\n" for each in script.people
    ]
    write_private(site.private / "demo-people.txt", "".join(lines).encode())


def _write_inbox(site: Site, script: Scenario) -> None:
    """The sheets and instrument files as they came, for whoever wants to look or to try again."""
    inbox = site.folder / INBOX
    inbox.mkdir()
    for sheet in (*script.registers, *script.preparations):
        (inbox / sheet.name).write_bytes(sheet.content)
    for file in (*script.files, *script.refused):
        (inbox / file.name).write_bytes(file.content)


def _prepare(stage: Stage, script: Scenario) -> None:
    """Documents approved, registers and preparation sheets brought in."""
    documents = [(document.name, document.text) for document in script.documents]
    documents.append((f"{PROFILE}.yaml", starter(f"profiles/{PROFILE}.yaml")))
    customers = [sheet for sheet in script.registers if sheet.register == "customer"]  # specifications name them
    for sheet in customers:
        stage.do(AddRegister(sheet.register, sheet.content, sheet.name), FLAME_ANALYST)
    stage.tell(f"Approving {len(documents)} controlled documents; the author is another person.")
    for name, text in documents:
        added = stage.do(AddDocument(text.encode("utf-8"), name), FLAME_ANALYST)
        stage.sign(ApproveDocument(f"{added.data['kind']}/{added.data['id']}"), APPROVER)
    for sheet in (sheet for sheet in script.registers if sheet not in customers):
        stage.do(AddRegister(sheet.register, sheet.content, sheet.name), FLAME_ANALYST)
    for sheet in script.preparations:
        stage.do(AddPreparation(sheet.content, sheet.name), _preparer(sheet.name))
    stage.tell("Registering customers, instruments, standards, nine lots and their preparations.")


def _preparer(name: str) -> str:
    return TRACE_ANALYST if "trace" in name else FLAME_ANALYST


def _measure(stage: Stage, script: Scenario) -> tuple[dict[str, list[str]], tuple[str, ...]]:
    """Bring in every instrument file but the one left; runs by analyst, and the names of refused files."""
    runs: dict[str, list[str]] = {}
    for file in (file for file in script.files if file.name != LEFT_FILE):
        analyst = _analyst(file)
        done = stage.do(IngestFile(file.content, file.name, file.layout, (file.batch,)), analyst)
        runs.setdefault(analyst, []).extend(str(run) for run in _list(done.data["runs"]))
        stage.tell(f"{file.name}: {file.shows}")
        for notice in done.notices:
            stage.tell(f"  {notice}")
    refused = []
    for file in script.refused:
        done = stage.do(IngestFile(file.content, file.name, file.layout, (file.batch,)), _analyst(file))
        refused.append(file.name)
        stage.tell(f"{file.name} is refused: {done.notices[0]}")
    return runs, tuple(refused)


def _analyst(file: InstrumentFile) -> str:
    return FLAME_ANALYST if file.name.startswith("flame") else TRACE_ANALYST


def _list(value: object) -> list[object]:
    return list(value) if isinstance(value, list) else []


def _review(stage: Stage, script: Scenario, runs: dict[str, list[str]]) -> None:
    names = {each.person: each.printed_name for each in script.people}
    for analyst, own in runs.items():
        stage.sign(SubmitRuns(tuple(own)), analyst)
        stage.tell(f"{names[analyst]} signs {', '.join(own)} as performed, one packet.")
    every = tuple(run for own in runs.values() for run in own)
    stage.sign(AcceptRuns(every), REVIEWER)
    stage.tell(f"{names[REVIEWER]} signs {len(every)} runs as reviewed, one packet.")


def _investigate(stage: Stage) -> None:
    """The laboratory phase of the lot above its limit: answered line by line, stated, a hypothesis planned."""
    with stage.site.store.reading() as view:
        sample = sample_of_lot(view, HELD_LOT)["sample"]
        (opened,) = view.rows("investigation", sample=sample)
    name = str(opened["investigation"])
    for line, answer, evidence in ANSWERS:
        stage.do(AnswerLine(name, line, answer, evidence.encode(), ""), REVIEWER)
    stage.sign(StateAsAnalyst(name, STATEMENT, ""), TRACE_ANALYST)
    told = NoteTold(name, "quality unit, Ruth Calloway", "in person, on the day of the reading")
    stage.do(told, REVIEWER)
    plan = PlanReadings(name, "hypothesis", 1, TRACE_ANALYST, "", "", HYPOTHESIS, "", b"", "")
    stage.sign(plan, APPROVER)
    stage.tell(
        f"{name}: {len(ANSWERS)} questions answered with evidence; a hypothesis reading is planned, never reported."
    )


def _certificate(stage: Stage, lot: str, comment: str = "") -> str:
    drafted = stage.do(DraftCertificate(lot, comment), FLAME_ANALYST)
    number = certify(stage, drafted)
    stage.tell(f"Lot {lot}: {number} approved, released, sealed; {drafted.data['conclusion']}.")
    return number


def _held(stage: Stage) -> tuple[str, ...]:
    with stage.site.store.reading() as view:
        refusals, _ = look(view, sample_of_lot(view, HELD_LOT))
    for refusal in refusals:
        stage.tell(f"Lot {HELD_LOT} has no certificate: {refusal.where}: {refusal.what}")
    return (HELD_LOT,) if refusals else ()


def _plan_next(stage: Stage) -> None:
    """A run plan for zinc and magnesium of the held lot and its neighbour, as if they were to be read once more."""
    with stage.site.store.reading() as view:
        samples = [str(sample_of_lot(view, lot)["sample"]) for lot in PLANNED_LOTS]
    done = stage.do(MakePlan(PLANNED_METHODS, _plan_sheet(samples), "plan-samples.csv"), FLAME_ANALYST)
    stage.tell(f"{done.said[0]} `benchseal plan show` has the order of its runs.")


def _plan_sheet(samples: list[str]) -> bytes:
    """The sheet of samples: a control, a reference material, and two portions of each sample."""
    rows = [
        "sample,volume_ml,kind,portions,dilutions,added_ug,expected_ug_per_g",
        ",50.0,control_sample,1,,Zn 15; Mg 10,",
        ",50.0,reference_material,1,,,Zn 1200; Mg 900",
        *(f"{sample},50.0,sample,2,Zn 5/100; Mg 10/100 4/100,," for sample in samples),
    ]
    return "\n".join([*rows, ""]).encode()


def _deliver(stage: Stage) -> str:
    planned = stage.do(PlanDelivery(PROFILE, str(stage.site.outbox.resolve())), APPROVER)
    number = str(planned.data["delivery"])
    done = deliveries.finish(stage.site, number)
    stage.tell(f"{number}: {planned.data['rows']} results delivered as {done.data['file']}")
    return number


def _verify(stage: Stage, certificates: list[str]) -> tuple[int, bool]:
    report = verify_site(stage.site)
    for finding in report.findings:
        stage.tell(f"verify --all: {finding}")
    trust = read_trust(trust_of(stage.site))
    words = [
        verify_certificate(
            (stage.site.certificates / f"{number}.pdf").read_bytes(), trust if isinstance(trust, Trust) else None
        ).word
        for number in certificates
    ]
    stage.tell(f"Verified: {report.entries} entries, {report.objects} objects; certificates {', '.join(words)}.")
    return report.entries, not report.findings and set(words) == {"GENUINE"}
