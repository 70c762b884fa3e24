"""Corrections: who may, what is refused, and that exactly what depends on the corrected thing changes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.desk.putting import left_file, read_anew
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER, TRACE_ANALYST

from benchseal.desk.acts_certificates import DraftCertificate
from benchseal.desk.acts_corrections import (
    Correct,
    CorrectPreparation,
    CorrectSample,
    CorrectStandard,
    ExcludePositions,
    JustifyCertificate,
    NoteNotMeasured,
    RejudgeRun,
    RelabelPositions,
)
from benchseal.desk.acts_documents import AddDocument, ApproveDocument, WithdrawDocument
from benchseal.desk.acts_people import ChangeRole
from benchseal.desk.acts_runs import AcceptRuns, CancelRun, RecalculateRun, ReopenRun, ReturnRuns, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import Plan, plan
from benchseal.desk.corrections import wanted_by
from benchseal.desk.perform import perform
from benchseal.desk.reading import load
from benchseal.desk.runs import run_contributors
from benchseal.desk.standing import bases_at
from benchseal.problems import Stopped
from benchseal.records.canonical import digest
from benchseal.records.manifest import Manifest
from benchseal.records.people import Role
from benchseal.records.preparation import Portion
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.records.shape import record_bytes
from benchseal.shipped import starter

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tests.conftest import Stage

    from benchseal.store.protocol import Reading

ROW = "AY-01/Y-B2/1"
MASS = CorrectPreparation(ROW, ("mass_g=1.0112",), "two figures were exchanged", "")


def seen(stage: Stage, act: Correct) -> Plan:
    with stage.site.store.reading() as view:
        return plan(view, stage.site.ledger, stamp(stage.site.clock()), wanted_by(act))


def do(stage: Stage, act: Correct, *people: str) -> None:
    figures = act.effect or seen(stage, act).figures
    perform(stage.site, replace(act, effect=figures), *(stage.key(person) for person in people))


def code(doing: Callable[[], object]) -> str:
    with pytest.raises(Stopped) as stop:
        doing()
    assert all(notice.remedy for notice in stop.value.notices)
    return stop.value.notices[0].code


def entries(stage: Stage) -> int:
    with stage.site.store.reading() as view:
        return view.size()


# ------------------------------------------------------------------ who may


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(
    ("people", "expected"),
    [
        pytest.param((REVIEWER, APPROVER), "act.role", id="a reviewer corrects"),
        pytest.param((APPROVER, REVIEWER), "act.role", id="an approver corrects"),
        pytest.param((ADMINISTRATOR, REVIEWER), "act.role", id="the administrator touches a result"),
        pytest.param((ANALYST, TRACE_ANALYST), "act.role", id="another analyst consents"),
        pytest.param((ANALYST, ADMINISTRATOR), "act.role", id="the administrator consents"),
        pytest.param((ANALYST,), "correction.consent-needed", id="nobody consents"),
        pytest.param((), "act.signers", id="nobody signs"),
        pytest.param((ANALYST, REVIEWER, APPROVER), "act.signers", id="three people"),
    ],
)
def test_wrong_people(stage: Stage, people: tuple[str, ...], expected: str) -> None:
    before = entries(stage)
    assert code(lambda: do(stage, MASS, *people)) == expected
    assert entries(stage) == before


@pytest.mark.refuses("P11 11.10(g)")
def test_one_person_with_both_roles_does_not_consent_to_the_own_correction(stage: Stage) -> None:
    perform(stage.site, ChangeRole(ANALYST, Role.REVIEWER, True, "covers a week"), stage.key(ADMINISTRATOR))
    assert code(lambda: do(stage, MASS, ANALYST, ANALYST)) == "duty.same-checker"


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize("kind", ["preparation", "standard", "exclude", "relabel"])
def test_whoever_corrected_never_reviews_the_run(stage: Stage, kind: str) -> None:
    """The other analyst submits; the one who corrected has become a reviewer meanwhile."""
    places = positions(stage, "R-00001")
    acts: dict[str, Correct] = {
        "preparation": MASS,
        "standard": CorrectStandard("DW-Zn-26", ("u_percent=0.3",), "read again", ""),
        "exclude": ExcludePositions("R-00001", (f"{places['Y-B2/1']}=uptake",), "a bubble was seen", ""),
        "relabel": RelabelPositions(
            "R-00001",
            (f"{places['Y-B2/1']}=S-00007:Y-B3/1", f"{places['Y-B3/1']}=S-00006:Y-B2/1"),
            "tubes exchanged",
            "",
        ),
    }
    do(stage, acts[kind], TRACE_ANALYST, APPROVER)
    perform(stage.site, SubmitRuns(("R-00001",)), stage.key(ANALYST))
    perform(stage.site, ChangeRole(TRACE_ANALYST, Role.REVIEWER, True, "covers a week"), stage.key(ADMINISTRATOR))
    accept = AcceptRuns(("R-00001",))
    assert code(lambda: perform(stage.site, accept, stage.key(TRACE_ANALYST))) == "duty.own-work"
    perform(stage.site, accept, stage.key(REVIEWER))
    assert verify_site(stage.site).findings == ()


@pytest.mark.clause("P11 11.10(g)")
def test_consenting_is_checking_and_bars_nobody(stage: Stage) -> None:
    do(stage, MASS, ANALYST, REVIEWER)
    perform(stage.site, SubmitRuns(("R-00001", "R-00002")), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(("R-00001", "R-00002")), stage.key(REVIEWER))


# ------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("text", "found"),
    [
        pytest.param("ab\u200bc", "documents.control-sign: sample/S-00001, description: Sign 3", id="zero width"),
        pytest.param("a\u00adb", "documents.control-sign: sample/S-00001, description: Sign 2", id="soft hyphen"),
        pytest.param("\ufeffa", "documents.control-sign: sample/S-00001, description: Sign 1", id="byte order mark"),
        pytest.param("a\tb", "documents.control-sign: sample/S-00001, description: Sign 2", id="tab"),
        pytest.param("=1+1", "documents.cell-not-text: sample/S-00001, description: ", id="a formula"),
        pytest.param("", "documents.cell-empty: sample/S-00001, description: ", id="nothing"),
    ],
)
def test_a_value_that_cannot_be_is_named_by_its_field(stage: Stage, text: str, found: str) -> None:
    act = CorrectSample("A-1", (f"description={text}",), "x", "0" * 16)
    with pytest.raises(Stopped) as stop:
        perform(stage.site, act, stage.key(ANALYST), stage.key(REVIEWER))
    said = str(stop.value.notices[0])
    assert said.startswith(found)
    assert not any(word in said for word in ("line 2", "heet", " cell again"))


def test_blanks_around_a_value_are_none_of_it(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        at = stamp(stage.site.clock())
        made = plan(view, stage.site.ledger, at, wanted_by(CorrectSample("A-1", ("order=\u00a0 X-9 ",), "x", "")))
    assert [(one.name, one.new) for one in made.effect.changes] == [("order", "X-9")]


@pytest.mark.refuses("P11 11.10(e)", "17025 7.5.2")
@pytest.mark.parametrize(
    ("act", "expected"),
    [
        pytest.param(replace(MASS, reason=" "), "act.reason", id="no reason"),
        pytest.param(replace(MASS, sets=("volume_ml=100.0",)), "correction.nothing-changes", id="value unchanged"),
        pytest.param(replace(MASS, sets=("mass_g=-1",)), "documents.value-unfit", id="a negative mass"),
        pytest.param(replace(MASS, sets=("mass_g=1e3",)), "documents.value-unfit", id="no plain number"),
        pytest.param(replace(MASS, sets=("mass_g=0",)), "documents.amount-zero", id="no mass at all"),
        pytest.param(replace(MASS, sets=("volume_ml=",)), "documents.value-unfit", id="no volume"),
        pytest.param(replace(MASS, sets=("dilutions=Zn 5",)), "documents.cell-unfit", id="half a dilution"),
        pytest.param(replace(MASS, sets=("prepared_at=2099-01-01T08:00:00",)), "sheet.future", id="still to come"),
        pytest.param(replace(MASS, sets=("prepared_by=p-nobody",)), "preparation.person-unknown", id="nobody"),
        pytest.param(replace(MASS, sets=("sample=S-99999",)), "preparation.sample-unknown", id="no such sample"),
        pytest.param(replace(MASS, sets=("mass_g=1.01", "mass_g=1.02")), "correction.twice", id="one value twice"),
        pytest.param(
            RelabelPositions("R-00001", ("17=S-00007:Y-B3/1", "017=S-00006:Y-B2/1"), "x", ""),
            "correction.twice",
            id="one position twice",
        ),
        pytest.param(replace(MASS, sets=("portion=Y-X",)), "correction.which", id="its name"),
        pytest.param(replace(MASS, sets=("kind=duplicate",)), "correction.which", id="its kind"),
        pytest.param(replace(MASS, sets=("mass_g",)), "correction.which", id="no value"),
        pytest.param(replace(MASS, subject="Y-nothing"), "preparation.unknown", id="no such row"),
        pytest.param(CorrectStandard("XX", ("value=1",), "x", ""), "standard.unknown", id="no such lot"),
        pytest.param(
            CorrectStandard("DW-Zn-26", ("value=0",), "x", ""), "documents.amount-zero", id="a lot of nothing"
        ),
        pytest.param(
            CorrectStandard("DW-Zn-26", ("expires_on=2020-01-01",), "x", ""), "documents.date-order", id="expired first"
        ),
        pytest.param(
            CorrectStandard("DW-Zn-26", ("in_use_from=2026-11-30",), "x", ""),
            "correction.run-unfit",
            id="not in use on the day of a run that rests on it",
        ),
        pytest.param(CorrectSample("A-1", ("customer=brookmere",), "x", ""), "correction.which", id="whose it is"),
        pytest.param(
            CorrectSample("A-1", ("received_on=2099-01-01",), "x", ""), "preparation.before-receipt", id="not yet come"
        ),
        pytest.param(ExcludePositions("R-00001", ("999=uptake",), "x", ""), "run.position", id="no such position"),
        pytest.param(ExcludePositions("R-00001", ("17=high",), "x", ""), "run.exclude-cause", id="no cause"),
        pytest.param(
            ExcludePositions("R-00001", ("17=instrument",), "Grubbs test, outlier", ""),
            "run.exclude-by-value",
            id="by a test of outliers",
        ),
        pytest.param(ExcludePositions("R-00001", ("2=uptake",), "x", ""), "run.exclude-kind", id="a standard"),
        pytest.param(RelabelPositions("R-00001", ("2=S-00001",), "x", ""), "run.relabel-kind", id="a standard's label"),
        pytest.param(
            RelabelPositions("R-00001", ("17=S-00009",), "x", ""), "run.relabel-portion", id="a sample of another batch"
        ),
        pytest.param(
            NoteNotMeasured("R-00001", ("S-00009=container",), "x", ""),
            "run.not-prepared",
            id="a sample not prepared for it",
        ),
        pytest.param(NoteNotMeasured("R-09999", ("S-00009=container",), "x", ""), "run.unknown", id="no such run"),
    ],
)
def test_refused_corrections(stage: Stage, act: Correct, expected: str) -> None:
    before = entries(stage)
    given = replace(act, effect="0" * 16)
    assert code(lambda: perform(stage.site, given, stage.key(ANALYST), stage.key(REVIEWER))) == expected
    assert entries(stage) == before


def without(data: bytes, gone: Sequence[bytes]) -> bytes:
    """A file of the bench log without these solutions, numbered and counted as if they had not been presented."""
    made: list[bytes] = []
    nth = 0
    for line in data.split(b"\r\n"):
        cells = line.split(b";")
        if cells[0].isdigit() and cells[1] in gone:
            continue
        if cells[0].isdigit():
            cells[0] = b"%d" % (nth := nth + 1)
        elif cells[0] == b"#End":
            cells[-1], nth = b"%d" % nth, 0
        made.append(b";".join(cells))
    return b"\r\n".join(made)


@pytest.mark.refuses("P11 11.10(e)", "17025 7.5.2")
@pytest.mark.parametrize("plates", [1, 4])
def test_it_was_read_in_another_run_where_one_stands(stage: Stage, plates: int) -> None:
    file = left_file(stage)
    part = replace(file, data=without(file.data, [b"W-C1/%d" % nth for nth in range(1, plates + 1)]))
    run, cadmium = cast("list[str]", perform(stage.site, part, stage.key(ANALYST)).data["runs"])
    said = NoteNotMeasured(run, ("S-00009=other-run",), "the rest of the tray was read later", "")
    assert code(lambda: seen(stage, said)) == "run.read-nowhere"
    for cause in ("container", "not-presented"):
        seen(stage, replace(said, sets=(f"S-00009={cause}",)))
    later = replace(
        file, data=read_anew(file.data.replace(b"Day;24.11.2026", b"Day;25.11.2026"), 2), source="later.txt"
    )
    other, _ = cast("list[str]", perform(stage.site, later, stage.key(ANALYST)).data["runs"])
    seen(stage, said)
    seen(stage, replace(said, subject=cadmium))
    perform(stage.site, CancelRun(other, "the lamp was old"), stage.key(ANALYST), stage.key(REVIEWER))
    assert code(lambda: seen(stage, said)) == "run.read-nowhere"
    seen(stage, replace(said, subject=cadmium))  # the later file's own run of cadmium stands


@pytest.mark.refuses("P11 11.10(f)")
def test_a_run_under_review_is_returned_first(stage: Stage) -> None:
    do(stage, MASS, ANALYST, REVIEWER)
    perform(stage.site, SubmitRuns(("R-00001", "R-00002")), stage.key(ANALYST))
    again = replace(MASS, sets=("mass_g=1.0121",))
    assert code(lambda: seen(stage, again)) == "correction.under-review"
    perform(stage.site, ReturnRuns(("R-00001", "R-00002"), "the mass"), stage.key(REVIEWER))
    do(stage, again, ANALYST)  # nothing signed changes any more
    perform(stage.site, SubmitRuns(("R-00001", "R-00002")), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(("R-00001", "R-00002")), stage.key(REVIEWER))
    with stage.site.store.reading() as view:
        changes = view.rows("correction", subject=f"portion/{ROW}")
        versions = [(row["version"], bool(row["reviewed_packet"])) for row in view.rows("run_version", run="R-00001")]
    assert len(changes) == 2
    assert versions == [("0001", True), ("0002", False), ("0003", True)]
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("P11 11.10(f)", "P11 11.70")
def test_what_was_not_seen_is_not_done(stage: Stage) -> None:
    figures = seen(stage, MASS).figures
    assert code(lambda: do(stage, replace(MASS, effect=figures[:8]), ANALYST, REVIEWER)) == "correction.effect-unseen"
    other = replace(MASS, sets=("mass_g=1.0211",), effect=figures)
    assert code(lambda: do(stage, other, ANALYST, REVIEWER)) == "correction.effect-changed"


@pytest.mark.refuses("P11 11.10(e)", "P11 11.70")
def test_of_two_who_saw_the_same_one_acts_and_the_other_looks_again(stage: Stage) -> None:
    """A race: another row of the same lot is corrected between looking and acting."""
    figures = seen(stage, MASS).figures
    do(stage, CorrectPreparation("AY-01/Y-B2/2", ("mass_g=1.0133",), "read again", ""), ANALYST, APPROVER)
    assert code(lambda: do(stage, replace(MASS, effect=figures), ANALYST, REVIEWER)) == "correction.effect-changed"
    do(stage, MASS, ANALYST)  # the run is open already
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("P11 11.10(f)")
def test_a_run_under_correction_is_not_cancelled_under_an_issued_certificate(stage: Stage) -> None:
    do(stage, MASS, ANALYST, REVIEWER)
    cancel = CancelRun("R-00001", "no more of it")
    assert code(lambda: perform(stage.site, cancel, stage.key(ANALYST), stage.key(REVIEWER))) == "run.certified"
    reopen = ReopenRun("R-00001", "once more")
    assert code(lambda: perform(stage.site, reopen, stage.key(ANALYST), stage.key(REVIEWER))) == "run.wrong-state"


@pytest.mark.refuses("P11 11.10(f)", "P11 11.10(g)")
def test_only_a_flagged_certificate_is_justified_and_not_by_who_corrected(stage: Stage) -> None:
    number = str(stage.played.certificates[0])
    justify = JustifyCertificate(number, "the printed value is the same")
    assert code(lambda: perform(stage.site, justify, stage.key(APPROVER))) == "certificate.not-flagged"
    do(
        stage,
        CorrectSample("A-1", ("condition=one bag torn",), "the receipt note", ""),
        TRACE_ANALYST,
        APPROVER,
    )
    perform(stage.site, ChangeRole(TRACE_ANALYST, Role.APPROVER, True, "covers a week"), stage.key(ADMINISTRATOR))
    assert code(lambda: perform(stage.site, justify, stage.key(TRACE_ANALYST))) == "duty.own-work"
    perform(stage.site, justify, stage.key(APPROVER))
    assert verify_site(stage.site).findings == ()


# ------------------------------------------------------------------ what changes


def positions(stage: Stage, run: str) -> dict[str, int]:
    with stage.site.store.reading() as view:
        row = view.row("run", run=run)
        assert row is not None
        bound = load(view, Run, row["bound"])
    return {label: at for (_, label), at in zip(bound.portion, bound.document.solutions.position, strict=True) if label}


def resting_on(view: Reading, portion: Portion, element: str) -> set[tuple[str, str]]:
    """Run and identifier of every result that rests on a preparation row, found by reading the calculations.

    A result rests on the rows of its own portions; on a blank taken off; and, where a check on the laboratory's own
    solutions was made on the row, every result of that run does. element: empty for all.
    """
    found = set()
    for row in view.rows("run"):
        if row["state"] == "cancelled" or (element and row["element"] != element):
            continue
        work, bound = load(view, RunWork, row["work"]), load(view, Run, row["bound"])
        read = {
            at
            for key, at in zip(bound.portion, bound.document.solutions.position, strict=True)
            if key == (portion.batch, portion.portion)
        }
        for result in work.results:
            own = any((one.batch, one.portion) == (portion.batch, portion.portion) for one in result.portions)
            checked = any(
                check.check in {"control_sample", "reference_material"} and check.found and read & set(check.positions)
                for check in work.checks
            )
            if own or (checked and portion.kind in {"control_sample", "reference_material"}):
                found.add((row["run"], result.result_id))
    return found


@st.composite
def corrections(draw: st.DrawFn, rows: list[Portion]) -> tuple[Portion, str, str]:
    """A row, the element it is about (empty for all), and what is set."""
    portion = draw(st.sampled_from(rows))
    name = draw(st.sampled_from(["mass_g", "volume_ml", "dilutions"]))
    if name == "dilutions" and portion.kind not in {"control_sample", "reference_material"}:
        element = draw(st.sampled_from(portion.elements))
        steps = {
            own: " ".join(f"{one.aliquot_ml}/{one.final_ml}" for one in row) for own, row in portion.dilutions.items()
        }
        steps[element] = f"{steps.get(element, '')} 9.9/10".strip()
        return portion, element, "dilutions=" + "; ".join(f"{own} {row}" for own, row in steps.items())
    if not portion.sample:  # what a check compares: the content of a material, the amount recovered of an addition
        name = "mass_g" if portion.expected_ug_per_g else "volume_ml"
    factor = draw(st.sampled_from(["1.002", "0.997", "1.013"]))
    return portion, "", f"{name}={float(getattr(portion, name)) * float(factor):.4f}"


@pytest.fixture(scope="module")
def prepared(played: object, tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]  # noqa: ANN201
    """A copy of the demo to look at, and its rows that hold a mass."""
    import shutil  # noqa: PLC0415

    from tests.conftest import Stage as Played  # noqa: PLC0415
    from tests.conftest import cheap_hashes  # noqa: PLC0415

    from benchseal.desk.site import open_site  # noqa: PLC0415

    folder = tmp_path_factory.mktemp("prepared") / "site"
    shutil.copytree(played.site.folder, folder)  # type: ignore[attr-defined]
    site = open_site(folder, hashes=cheap_hashes)
    with site.store.reading() as view:
        rows = [load(view, Portion, row["record"]) for row in view.rows("portion")]
    kinds = {"sample", "duplicate", "control_sample", "reference_material"}
    yield Played(site, played), [row for row in rows if row.mass_g and row.kind in kinds]  # type: ignore[arg-type]
    site.store.close()


@pytest.mark.clause("P11 11.70", "17025 7.5.2")
@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_exactly_what_rests_on_a_row_gets_a_new_digest(
    prepared: tuple[Stage, list[Portion]], data: st.DataObject
) -> None:
    stage, rows = prepared
    portion, element, setting = data.draw(corrections(rows))
    made = seen(stage, CorrectPreparation(f"{portion.batch}/{portion.portion}", (setting,), "x", ""))
    with stage.site.store.reading() as view:
        expected = resting_on(view, portion, element)
        changed = {(one.run, one.result_id) for one in made.effect.results}
        assert changed == expected
        for one in made.runs:
            row = one.row
            before = {
                digest(record_bytes(each)): each
                for each in bases_at(view, row["run"], row["bound"], row["work"], row["bench"])
            }
            kept = {each.result.result_id for each in before.values()} - one.found.changed_ids
            assert kept == {each.result_id for each in one.found.untouched}


@pytest.mark.clause("P11 11.70")
def test_digests_signed_before_stand_in_the_next_manifest(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        row = view.row("run", run="R-00001")
        assert row is not None
        old = load(view, Manifest, row["reviewed_manifest"])
    do(stage, MASS, ANALYST, REVIEWER)
    perform(stage.site, SubmitRuns(("R-00001",)), stage.key(ANALYST))
    with stage.site.store.reading() as view:
        row = view.row("run", run="R-00001")
        assert row is not None
        new = load(view, Manifest, row["manifest"])
        assert row["reviewed_manifest"] == new.supersedes == digest(record_bytes(old))
    assert len(set(old.results) - set(new.results)) == 1
    assert (old.calibration, old.block_root, old.run_document) == (new.calibration, new.block_root, new.run_document)


def test_a_correction_of_a_draft_needs_the_analyst_alone(stage: Stage) -> None:
    from benchseal.desk.acts_runs import IngestFile  # noqa: PLC0415

    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    done = perform(stage.site, IngestFile(data, "flame-ware.txt", "", ()), stage.key(ANALYST))
    made = seen(stage, CorrectPreparation("WR-01/W-C1/1", ("volume_ml=900.5",), "the cylinder was read wrong", ""))
    assert not made.effect.needs_consent
    assert {one.state for one in made.effect.runs} == {"draft"}
    do(stage, CorrectPreparation("WR-01/W-C1/1", ("volume_ml=900.5",), "the cylinder was read wrong", ""), ANALYST)
    assert done.data["runs"]
    assert verify_site(stage.site).findings == ()


def test_a_cancelled_run_is_left_as_it_is(stage: Stage) -> None:
    from benchseal.desk.acts_runs import IngestFile  # noqa: PLC0415

    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    runs = perform(stage.site, IngestFile(data, "w.txt", "", ()), stage.key(ANALYST)).data["runs"]
    for run in runs:  # type: ignore[union-attr]
        perform(stage.site, CancelRun(str(run), "wrong batch"), stage.key(ANALYST), stage.key(REVIEWER))
    act = CorrectPreparation("WR-01/W-C1/1", ("volume_ml=900.5",), "the cylinder was read wrong", "")
    assert seen(stage, act).effect.runs == ()
    gone = NoteNotMeasured(str(runs[0]), ("S-00009=container",), "x", "")  # type: ignore[index]
    assert code(lambda: seen(stage, gone)) in {"run.was-measured", "correction.under-review"}


@pytest.mark.refuses("P11 11.10(e)")
def test_what_changes_on_the_way_to_the_second_review_is_flagged_too(stage: Stage) -> None:
    """The run of a correction is calculated again by a new version of its method: issued certificates are told."""
    with stage.site.store.reading() as view:
        row = view.row("document", kind="method", id="zinc-flame", state="approved")
        assert row is not None
        source = view.bytes_of(row["source"])
    do(stage, MASS, ANALYST, REVIEWER)
    assert flags(stage) == {}
    other = source.replace(b"title: ", b"title: New ", 1)
    perform(stage.site, AddDocument(other, "zinc-flame.yaml"), stage.key(TRACE_ANALYST))
    perform(stage.site, ApproveDocument("method/zinc-flame"), stage.key(APPROVER))
    perform(stage.site, RecalculateRun("R-00001", "method version 2"), stage.key(ANALYST))
    perform(stage.site, SubmitRuns(("R-00001",)), stage.key(ANALYST))
    assert flags(stage) == {}
    perform(stage.site, AcceptRuns(("R-00001",)), stage.key(REVIEWER))
    assert flags(stage) == dict.fromkeys(stage.played.certificates, "must amend or justify")
    assert verify_site(stage.site).findings == ()


def flags(stage: Stage) -> dict[str, str]:
    with stage.site.store.reading() as view:
        return {row["number"]: row["flag"] for row in view.rows("certificate") if row["flag"]}


# ------------------------------------------------------------------ documents that changed meanwhile


def new_version(stage: Stage, name: str, old: str, new: str) -> None:
    text = starter(name)
    assert old in text
    added = perform(stage.site, AddDocument(text.replace(old, new).encode(), "new.yaml"), stage.key(TRACE_ANALYST))
    perform(stage.site, ApproveDocument(f"{added.data['kind']}/{added.data['id']}"), stage.key(APPROVER))


def wider_limit(stage: Stage) -> None:
    """Zinc of the lozenge may be 85 % of the claim from now on."""
    new_version(stage, "specifications/mineral-lozenge.yaml", "lower: '90.0'", "lower: '85.0'")


@pytest.mark.clause("P11 11.10(k)", "17025 7.5.2")
def test_a_correction_keeps_the_versions_a_run_was_calculated_by(stage: Stage) -> None:
    """A specification and a method are in force in a new version; one mass is corrected, and one lot changes."""
    before = seen(stage, MASS)
    wider_limit(stage)
    new_version(stage, "methods/zinc-flame.yaml", "title: Zinc", "title: The zinc")
    assert seen(stage, MASS).effect == before.effect
    do(stage, MASS, ANALYST, REVIEWER)
    with stage.site.store.reading() as view:
        row = view.row("run", run="R-00001")
        assert row is not None
        work, run = load(view, RunWork, row["work"]), load(view, Run, row["bound"])
    assert {one.specification.version for one in work.results} == {1}
    assert run.method_ref.version == 1
    assert verify_site(stage.site).findings == ()


@pytest.mark.clause("P11 11.10(k)", "17025 7.5.2")
def test_a_run_is_judged_again_by_what_is_in_force_after_its_effect_was_seen(stage: Stage) -> None:
    wider_limit(stage)
    act = RejudgeRun("R-00001", (), "the limit was typed wrong", "")
    effect = seen(stage, act).effect
    assert [(one.name, one.old, one.new) for one in effect.changes] == [
        ("specification/mineral-lozenge", "version 1", "version 2")
    ]
    assert {one.lot for one in effect.results} == {"A-1", "A-2", "A-3", "A-4"}  # those of the other customer stay
    assert {one.becomes for one in effect.certificates} == {"must amend or justify"}
    do(stage, act, ANALYST, APPROVER)
    perform(stage.site, SubmitRuns(("R-00001",)), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(("R-00001",)), stage.key(REVIEWER))
    with stage.site.store.reading() as view:
        row = view.row("run", run="R-00001")
        assert row is not None
        work = load(view, RunWork, row["work"])
    by_id = {one.specification.id: one.specification.version for one in work.results}
    assert by_id == {"mineral-lozenge": 2, "drink-sachet": 1}
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("P11 11.10(k)")
@pytest.mark.parametrize(
    ("documents", "expected"),
    [
        pytest.param((), "correction.nothing-changes", id="nothing newer is in force"),
        pytest.param(("specification/flat-ware",), "run.rejudge-document", id="a document it has nothing to do with"),
        pytest.param(("method/zinc-flame",), "correction.nothing-changes", id="the method is as it was"),
    ],
)
def test_what_is_not_judged_again(stage: Stage, documents: tuple[str, ...], expected: str) -> None:
    assert code(lambda: seen(stage, RejudgeRun("R-00001", documents, "looked at again", ""))) == expected


@pytest.mark.refuses("P11 11.10(k)")
def test_nothing_is_judged_by_what_was_withdrawn(stage: Stage) -> None:
    withdraw = WithdrawDocument("specification/mineral-lozenge", "agreed anew")
    perform(stage.site, withdraw, stage.key(APPROVER))
    assert code(lambda: seen(stage, RejudgeRun("R-00001", (), "looked at again", ""))) == "run.rejudge-not-in-force"


@pytest.mark.refuses("OOS III", "OOS V")
def test_a_wider_limit_opens_no_held_lot(stage: Stage) -> None:
    """Cadmium of A-2 is under investigation; the specification is made wider, and the run judged again by it."""
    text = starter("specifications/mineral-lozenge.yaml")
    place = text.index("element: Cd")
    wider = text[place:].replace("upper: '0.50'", "upper: '5.0'", 1).replace("_per_day: '5'", "_per_day: '50'", 1)
    wider = text[:place] + wider
    perform(stage.site, AddDocument(wider.encode(), "new.yaml"), stage.key(TRACE_ANALYST))
    perform(stage.site, ApproveDocument("specification/mineral-lozenge"), stage.key(APPROVER))
    act = RejudgeRun("R-00005", (), "the limit was typed wrong", "")
    do(stage, act, TRACE_ANALYST, APPROVER)
    perform(stage.site, SubmitRuns(("R-00005",)), stage.key(TRACE_ANALYST))
    perform(stage.site, AcceptRuns(("R-00005",)), stage.key(REVIEWER))
    assert code(lambda: perform(stage.site, DraftCertificate("A-2", ""), stage.key(ANALYST))) == "certificate.held"


@pytest.mark.refuses("P211.194(a)(8)", "P11 11.10(g)")
def test_whoever_typed_a_standard_does_not_review_what_rests_on_it(stage: Stage) -> None:
    """Maren typed the lots; the hydride run is another's from the digest to the file, and nothing else bars her."""
    run = "R-00007"
    with stage.site.store.reading() as view:
        row = view.row("run", run=run)
        lots = load(view, Run, row["bound"]).standard_lots if row else ()
        assert run_contributors(view, run)[ANALYST] == ("enter",)
        assert lots
        typed = [view.rows("contribution", subject=f"standard/{lot}") for lot in lots]
        assert {one["person"] for rows in typed for one in rows} == {ANALYST}
        portion = next(one for one in view.rows("run_portion", run=run) if one["portion"].endswith("/1"))
    wrong = CorrectPreparation(f"{portion['batch']}/{portion['portion']}", ("mass_g=0.5001",), "misread", "")
    runs = tuple(one.run for one in seen(stage, wrong).effect.runs)
    assert run in runs
    do(stage, wrong, TRACE_ANALYST, REVIEWER)
    perform(stage.site, SubmitRuns(runs), stage.key(TRACE_ANALYST))
    perform(stage.site, ChangeRole(ANALYST, Role.REVIEWER, True, "covers a week"), stage.key(ADMINISTRATOR))
    accept = AcceptRuns((run,))
    assert code(lambda: perform(stage.site, accept, stage.key(ANALYST))) == "duty.own-work"
    perform(stage.site, accept, stage.key(REVIEWER))
