"""The demo from founding to delivery: what it promises, and that others can see it. Never evidence of a number."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import signal
import subprocess
import sys
from typing import TYPE_CHECKING

import pikepdf
import pytest

from benchseal.certificate.wording import WORDING
from benchseal.demo import play as the_play
from benchseal.desk import deliveries, sealing
from benchseal.desk.acts_certificates import (
    ApproveCertificate,
    DiscardCertificate,
    DraftCertificate,
    ReleaseCertificate,
)
from benchseal.desk.acts_deliveries import PlanDelivery
from benchseal.desk.acts_registers import AddRegister
from benchseal.desk.acts_runs import (
    AcceptRuns,
    CancelRun,
    IngestFile,
    RecalculateRun,
    ReopenRun,
    ReturnRuns,
    SubmitRuns,
)
from benchseal.desk.checking import verify_site
from benchseal.desk.founding import trust_of
from benchseal.desk.gathering import look
from benchseal.desk.perform import perform
from benchseal.desk.reading import load, sample_of_lot
from benchseal.problems import Stopped
from benchseal.records.results import NotReportable, Quantified, RunWork
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from tests.conftest import Stage

ANALYST, TRACE_ANALYST = "p-maren.holt", "p-tobias.quill"
REVIEWER, APPROVER, ADMINISTRATOR = "p-edda.farrow", "p-ruth.calloway", "p-sil.penhallow"


def trust(stage: Stage) -> Trust:
    found = read_trust(trust_of(stage.site))
    assert isinstance(found, Trust)
    return found


def works(stage: Stage) -> dict[str, RunWork]:
    with stage.site.store.reading() as view:
        return {row["run"]: load(view, RunWork, row["work"]) for row in view.rows("run")}


@pytest.mark.clause("P11 11.10", "P11 11.10(a)")
def test_everything_verifies(stage: Stage) -> None:
    assert stage.played.whole
    assert verify_site(stage.site).findings == ()
    assert len(stage.played.runs) == 7
    assert len(stage.played.certificates) == 3
    assert len(stage.played.refused) == 2


def test_a_certificate_is_genuine_with_trust_and_unknown_without(stage: Stage) -> None:
    pdf = stage.pdf(stage.played.certificates[0])
    assert verify_certificate(pdf, trust(stage)).word == "GENUINE"
    assert verify_certificate(pdf, None).word == "UNKNOWN"


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize("share", [0.02, 0.2, 0.5, 0.8, 0.98])
def test_one_changed_byte_is_not_genuine(stage: Stage, share: float) -> None:
    pdf = bytearray(stage.pdf(stage.played.certificates[0]))
    pdf[int(len(pdf) * share)] ^= 1
    assert verify_certificate(bytes(pdf), trust(stage)).word != "GENUINE"


@pytest.mark.clause("DI Q2")
def test_the_failed_bracket_takes_its_samples_with_it(stage: Stage) -> None:
    first, second = (work for run, work in works(stage).items() if work.calibration.element == "Pb" and run < "R-00005")
    lost = {result.sample for result in first.results if isinstance(result.outcome, NotReportable)}
    kept = {result.sample for result in first.results if isinstance(result.outcome, Quantified)}
    assert len(first.voided) == 10
    assert len(lost) == len(kept) == 4
    assert all(each.code for each in first.voided)
    measured_again = {result.sample for result in second.results if not isinstance(result.outcome, NotReportable)}
    assert lost <= measured_again
    assert not kept & measured_again


@pytest.mark.clause("OOS III", "17025 7.10")
@pytest.mark.refuses("OOS III", "17025 7.10")
def test_the_lot_over_its_limit_is_held_and_says_so(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        refusals, _ = look(view, sample_of_lot(view, "A-2"))
    assert [refusal.code for refusal in refusals] == ["certificate.held"]
    with pytest.raises(Stopped) as stop:
        perform(stage.site, DraftCertificate("A-2", ""), stage.key(APPROVER))
    assert stop.value.notices[0].code == "certificate.held"


@pytest.mark.clause("OOS V.B")
@pytest.mark.refuses("OOS V.B")
def test_a_borderline_result_asks_for_a_comment(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        refusals, found = look(view, sample_of_lot(view, "A-3"))
    assert "certificate.comment-required" in {refusal.code for refusal in refusals}
    zinc = next(each.result for each in found if each.result.element == "Zn")
    assert isinstance(zinc.outcome, Quantified)
    assert (zinc.outcome.value_text, zinc.verdict) == ("90.0", "pass")
    assert float(zinc.outcome.value) < 90


OTHERS = {
    "A-1": ("B-1", "B-2", "B-3", "B-4", "C-1", "A-2", "A-3", "A-4"),
    "B-1": ("A-1", "A-2", "A-3", "A-4", "C-1", "B-2", "B-3", "B-4"),
    "A-3": ("B-1", "B-2", "B-3", "B-4", "C-1", "A-1", "A-2", "A-4"),
}


def plain_bytes(pdf: bytes) -> bytes:
    """Every stream and string of a PDF, unpacked, and the text of its pages; not the seal, which may spell a lot."""
    found = []
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        for field in opened.Root.get("/AcroForm", pikepdf.Dictionary()).get("/Fields", ()):
            field.V.Contents = pikepdf.String("")
        for thing in opened.objects:
            if isinstance(thing, pikepdf.Stream):
                found.append(thing.read_bytes())
            found.append(repr(thing).encode())
    from pypdf import PdfReader  # noqa: PLC0415

    found += [page.extract_text().encode() for page in PdfReader(io.BytesIO(pdf)).pages]
    return b"\n".join(found)


@pytest.mark.refuses("P11 11.10")
@pytest.mark.parametrize("lot", list(OTHERS))
def test_no_certificate_shows_a_trace_of_another_lot_or_customer(stage: Stage, lot: str) -> None:
    numbers = dict(zip((*the_play.RELEASED_LOTS, the_play.BORDERLINE_LOT), stage.played.certificates, strict=True))
    text = plain_bytes(stage.pdf(numbers[lot]))
    assert stands_in(lot, text)  # the search can find what is there
    with stage.site.store.reading() as view:
        own = sample_of_lot(view, lot)
        words: set[str] = set()
        for other in OTHERS[lot]:
            row = sample_of_lot(view, other)
            record = json.loads(view.bytes_of(row["record"]))["row"]
            words |= {other, row["sample"], record["customer_sample_id"], record["order"]}
            words |= {portion["portion"] for portion in view.rows("portion", sample=row["sample"])}
            if row["customer"] != own["customer"]:
                customer = json.loads(view.bytes_of(view.rows("customer", customer=row["customer"])[0]["record"]))
                words |= {customer["name"], customer["customer"], customer["contact"], row["product"]}
    own_words = json.loads(view_record(stage, own["record"]))["row"].values()
    leaked = {word for word in words if word and word not in own_words and stands_in(word, text)}
    assert leaked == set()


def stands_in(word: str, text: bytes) -> bool:
    """Whether a word stands there as a word: ``A-2`` is not part of ``SHA-256``."""
    return re.search(rb"(?<![0-9A-Za-z])" + re.escape(word.encode()) + rb"(?![0-9A-Za-z])", text) is not None


def view_record(stage: Stage, name: str) -> bytes:
    with stage.site.store.reading() as view:
        return view.bytes_of(name)


@pytest.mark.clause("A11 5")
def test_the_delivery_holds_each_released_result_once(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        row = view.rows("delivery")[0]
        released = view.rows("released")
        data = view.bytes_of(dict(json.loads(row["files"]))[row["file"]])
    rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"))))
    assert row["state"] == "done"
    assert len(rows) - 1 == len(released) == int(row["rows"])
    assert (stage.site.outbox / row["file"]).read_bytes() == data
    planned = perform(stage.site, PlanDelivery(row["profile"], row["destination"]), stage.key(APPROVER))
    assert planned.data["rows"] == 0
    (stage.site.outbox / row["file"]).unlink()
    deliveries.put_down(stage.site, row["delivery_id"], str(stage.site.outbox))
    assert (stage.site.outbox / row["file"]).read_bytes() == data


@pytest.mark.refuses("P11 11.10(f)", "P11 11.10(g)", "A11 9", "DI Q4")
@pytest.mark.parametrize(
    ("act", "person", "code"),
    [
        pytest.param(AcceptRuns(("R-00001",)), ANALYST, "act.role", id="an analyst reviews"),
        pytest.param(AcceptRuns(("R-00001",)), REVIEWER, "run.wrong-state", id="reviewed twice"),
        pytest.param(SubmitRuns(("R-00001",)), ANALYST, "run.wrong-state", id="a reviewed run is submitted again"),
        pytest.param(ReturnRuns(("R-00001",), "why"), REVIEWER, "run.wrong-state", id="a reviewed run is returned"),
        pytest.param(SubmitRuns(("R-99999",)), ANALYST, "run.unknown", id="no such run"),
        pytest.param(RecalculateRun("R-00001", "why"), ANALYST, "run.wrong-state", id="reviewed content is changed"),
        pytest.param(RecalculateRun("R-00001", " "), ANALYST, "act.reason", id="a change without its reason"),
        pytest.param(ApproveCertificate("C-1999-00001"), APPROVER, "certificate.unknown", id="no such certificate"),
        pytest.param(SubmitRuns(("R-00001",)), ADMINISTRATOR, "act.role", id="an administrator signs a result"),
        pytest.param(PlanDelivery("no-such", "x"), APPROVER, "export.profile-not-in-force", id="no such profile"),
        pytest.param(DraftCertificate("Z-9", ""), APPROVER, "lot.unknown", id="no such lot"),
    ],
)
def test_refused_acts_leave_nothing(stage: Stage, act: object, person: str, code: str) -> None:
    with stage.site.store.reading() as view:
        before = view.size()
    with pytest.raises(Stopped) as stop:
        perform(stage.site, act, stage.key(person))
    assert code in {notice.code for notice in stop.value.notices}
    with stage.site.store.reading() as view:
        assert view.size() == before


@pytest.mark.refuses("P11 11.10(f)", "17025 7.8.1.1")
def test_a_certificate_cannot_be_approved_twice_or_released_unapproved(stage: Stage) -> None:
    drafted = perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST))
    number = str(drafted.data["number"])
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    assert stop.value.notices[0].code == "certificate.wrong-state"
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    assert stop.value.notices[0].code == "certificate.wrong-state"
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("P11 11.10(g)")
def test_cancelling_needs_two_people(stage: Stage) -> None:
    with pytest.raises(Stopped) as stop:
        perform(stage.site, CancelRun("R-00001", "wrong lamp"), stage.key(TRACE_ANALYST))
    assert stop.value.notices[0].code == "act.signers"
    with pytest.raises(Stopped) as stop:
        perform(stage.site, CancelRun("R-00001", "wrong lamp"), stage.key(TRACE_ANALYST), stage.key(REVIEWER))
    assert stop.value.notices[0].code == "run.wrong-state"


@pytest.mark.clause("P11 11.10(h)")
@pytest.mark.refuses("P11 11.10(h)")
def test_the_same_file_again_is_noticed(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        row = next(row for row in view.rows("source_file") if row["state"] == "accepted")
        data = view.bytes_of(row["sha256"])
    with pytest.raises(Stopped) as stop:
        perform(stage.site, IngestFile(data, "again.txt", "", ()), stage.key(ANALYST))
    assert stop.value.notices[0].code == "ingest.already"


KILLED = """
import os, signal, sys
from pathlib import Path
from benchseal.desk import sealing
from benchseal.desk.site import open_site
site = open_site(Path(sys.argv[1]))
if sys.argv[3] == "render":
    sealing.rendered = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
elif sys.argv[3] == "record":
    sealing._put_on_record = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
else:
    sealing.write_copy = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
sealing.finish(site, sys.argv[2])
"""


@pytest.mark.clause("A11 16", "PI041 enduring")
@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is a POSIX signal")
@pytest.mark.parametrize("step", ["render", "record", "copy"])
def test_killed_while_releasing_and_resumed(stage: Stage, step: str) -> None:
    drafted = perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST))
    number = str(drafted.data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    killed = subprocess.run(  # noqa: S603  the program of this test
        [sys.executable, "-c", KILLED, str(stage.site.folder), number, step], check=False, capture_output=True
    )
    assert killed.returncode == -signal.SIGKILL, killed.stderr
    assert verify_site(stage.site).findings == ()
    if step == "copy":
        assert sealing.waiting(stage.site) == []
        sealing.write_copy(stage.site, number)
    else:
        assert sealing.waiting(stage.site) == [number]
        sealing.finish(stage.site, number)
    assert verify_certificate(stage.pdf(number), trust(stage)).word == "GENUINE"
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("P11 11.10(f)")
def test_a_reviewed_run_is_reopened_by_two_and_then_cancelled(stage: Stage) -> None:
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ReopenRun("R-00001", "wrong"), stage.key(ANALYST), stage.key(REVIEWER))
    assert stop.value.notices[0].code == "run.certified"  # issued certificates rest on it
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ReopenRun("R-00004", " "), stage.key(TRACE_ANALYST), stage.key(REVIEWER))
    assert stop.value.notices[0].code == "act.reason"
    drafted = perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST))
    run = "R-00004"  # lead, second run: only lots without an issued certificate but A-3
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ReopenRun(run, "wrong tube"), stage.key(TRACE_ANALYST), stage.key(REVIEWER))
    assert stop.value.notices[0].code == "run.certified"
    assert verify_site(stage.site).findings == ()
    with pytest.raises(Stopped) as stop:
        perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST))
    assert stop.value.notices[0].code == "certificate.already"
    assert drafted.data["number"]


@pytest.mark.clause("P11 11.10(f)")
def test_a_reopened_run_takes_its_draft_certificate_with_it(stage: Stage) -> None:
    """The ware file: brought in, reviewed, drafted, reopened, recalculated, reviewed again, released."""
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    done = perform(stage.site, IngestFile(data, "flame-ware.txt", "", ()), stage.key(ANALYST))
    runs = tuple(str(run) for run in done.data["runs"])  # type: ignore[union-attr]
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
    first = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ReopenRun(runs[0], "blank to be looked at"), stage.key(ANALYST), stage.key(REVIEWER))
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ApproveCertificate(first), stage.key(APPROVER))
    assert stop.value.notices[0].code == "certificate.run-changed"
    perform(stage.site, RecalculateRun(runs[0], "looked at"), stage.key(ANALYST))
    with pytest.raises(Stopped) as stop:
        perform(stage.site, AcceptRuns((runs[0],)), stage.key(REVIEWER))
    assert stop.value.notices[0].code == "run.wrong-state"
    perform(stage.site, SubmitRuns((runs[0],)), stage.key(ANALYST))
    perform(stage.site, AcceptRuns((runs[0],)), stage.key(REVIEWER))
    perform(stage.site, DiscardCertificate(first, "its run was reopened"), stage.key(ANALYST))
    number = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    sealing.finish(stage.site, number)
    assert verify_certificate(stage.pdf(number), trust(stage)).word == "GENUINE"
    assert verify_site(stage.site).findings == ()


def test_a_run_cancelled_by_two_lets_its_file_in_again(stage: Stage) -> None:
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    done = perform(stage.site, IngestFile(data, "flame-ware.txt", "", ()), stage.key(ANALYST))
    for run in done.data["runs"]:  # type: ignore[union-attr]
        perform(stage.site, CancelRun(str(run), "wrong batch"), stage.key(ANALYST), stage.key(REVIEWER))
    again = perform(stage.site, IngestFile(data, "flame-ware.txt", "", ()), stage.key(ANALYST))
    assert again.data["runs"] != done.data["runs"]
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("17025 7.11.2")
def test_a_draft_by_other_calculation_rules_is_not_approved(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    number = str(perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST)).data["number"])
    monkeypatch.setattr("benchseal.desk.certificates.CALCULATION_RULES", 99)
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    assert stop.value.notices[0].code == "certificate.program-changed"


@pytest.mark.refuses("17025 7.11.2")
def test_a_draft_of_another_wording_is_drafted_again(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    number = str(perform(stage.site, DraftCertificate("B-2", ""), stage.key(ANALYST)).data["number"])
    monkeypatch.setattr("benchseal.desk.certificates.WORDING", 99)
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    assert stop.value.notices[0].code == "certificate.program-changed"


def test_a_page_worded_by_another_form_is_compared_by_its_rows(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    pdf = stage.pdf(stage.played.certificates[0])
    monkeypatch.setattr("benchseal.verify.page.REPRODUCED", frozenset({99}))
    monkeypatch.setattr("benchseal.verify.page.IN_PART", frozenset({WORDING}))
    report = verify_certificate(pdf, trust(stage))
    assert report.word == "GENUINE"
    assert any("rest on the seal" in check.said for check in report.checks)


@pytest.mark.refuses("P211.194(a)(8)", "DI Q1a")
def test_the_operator_a_file_names_never_reviews(stage: Stage) -> None:
    """Found by an attack: the reviewer stood in the file as operator, another person brought it in."""
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    own = data.replace(b"Worker;maren.holt", b"Worker;edda.farrow")
    assert own != data
    runs = perform(stage.site, IngestFile(own, "own.txt", "", ()), stage.key(ANALYST)).data["runs"]
    names = tuple(str(run) for run in runs)  # type: ignore[union-attr]
    perform(stage.site, SubmitRuns(names), stage.key(ANALYST))
    with pytest.raises(Stopped) as stop:
        perform(stage.site, AcceptRuns(names), stage.key(REVIEWER))
    assert {notice.code for notice in stop.value.notices} == {"duty.own-work"}


def test_an_operator_nobody_knows_is_said(stage: Stage) -> None:
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    done = perform(
        stage.site,
        IngestFile(data.replace(b"Worker;maren.holt", b"Worker;x.holt"), "x.txt", "", ()),
        stage.key(ANALYST),
    )
    assert any("'x.holt'" in line for line in done.said)


def test_a_method_name_nobody_knows_is_not_passed_over(stage: Stage) -> None:
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    other = data.replace(b"PB-WARE", b"ZZ-WARE")
    assert other != data
    done = perform(stage.site, IngestFile(other, "zz.txt", "", ()), stage.key(ANALYST))
    assert "validate.method-unknown" in {notice.code for notice in done.notices}
    assert done.data["runs"] == []


@pytest.mark.refuses("P11 11.10(a)", "P11 11.10(h)")
@pytest.mark.parametrize(
    ("change", "code"),
    [
        pytest.param({}, "sample.already", id="the same sheet twice"),
        pytest.param({"lot": "X-1", "received_on": "2099-01-01"}, "sheet.future", id="received in the future"),
        pytest.param({"lot": "X-1", "customer_sample_id": "=1+1"}, "documents.cell-not-text", id="a formula"),
        pytest.param({"lot": "X-1", "customer_sample_id": "a\u202eb"}, "documents.control-sign", id="turned writing"),
        pytest.param({"lot": "X\u00a01"}, "documents.blank-odd", id="a blank that looks like another"),
        pytest.param({"lot": "X-1", "received_on": "0001-01-01"}, "documents.date-early", id="received in the year 1"),
    ],
)
def test_refused_samples(stage: Stage, change: dict[str, str], code: str) -> None:
    header, first, *_ = (stage.site.folder / "inbox" / "samples.csv").read_text(encoding="utf-8").splitlines()
    cells = next(csv.reader([first]))
    for name, value in change.items():
        cells[header.split(",").index(name)] = value
    out = io.StringIO()
    csv.writer(out).writerow(cells)
    sheet = f"{header}\n{out.getvalue()}".encode()
    with pytest.raises(Stopped) as stop:
        perform(stage.site, AddRegister("sample", sheet, "again.csv"), stage.key(ANALYST))
    assert code in {notice.code for notice in stop.value.notices}
