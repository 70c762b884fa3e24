"""Lead of the demo's plates on the curve of the morning, from method and files to the certificate. All invented."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.test_additions import row
from tests.journeys.test_demo import ANALYST, APPROVER, REVIEWER, trust

from benchseal.desk.acts_certificates import ApproveCertificate, DraftCertificate, ReleaseCertificate
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_registers import AddPreparation
from benchseal.desk.acts_runs import AcceptRuns, CancelRun, IngestFile, RecalculateRun, ReopenRun, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.reading import load, sample_of_lot
from benchseal.desk.sealing import finish
from benchseal.problems import Stopped
from benchseal.records.results import Quantified, RunWork
from benchseal.records.run import Run
from benchseal.shipped import starter
from benchseal.validate.stored import curve_copied
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.conftest import Stage
    from tests.journeys.commands import Line

HOLDS, CURVE, GAIN, REST = 2.2, 0.0176, 0.94, 0.0006  # mg/L; A per mg/L; later sensitivity and zero
PLATES = ("V-1", "V-2", "V-3", "V-4")
COLUMNS = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,area_dm2,added_ug\n"
LEVELS = ("0", "0.50", "1.00", "2.00", "5.00", "10.00")
TITLES = "No.;Tube;Sort;Set to;Thinned;1st;2nd;3rd;Mean"


def method(hours: str = "24") -> bytes:
    """The demo's method for lead from ware, read against its blank, with a stored curve."""
    text = starter("methods/lead-flame-ware.yaml")
    text = text.replace("signal_is: absorbance\n", "signal_is: absorbance_zeroed_on_blank\n")
    if hours:
        text += (
            f"stored_curve: {{valid_hours: '{hours}', smallest_factor: '0.8', largest_factor: '1.2', source: house}}\n"
        )
    return text.encode()


def layout() -> bytes:
    """The demo's layout with a word for the correction standard."""
    text = starter("layouts/semicolon-sections.yaml")
    line = "  - {code: S2, means: second_source}\n"
    assert line in text
    return text.replace(line, line + "  - {code: SK, means: correction_standard}\n").encode()


def sheet(sample: str) -> bytes:
    tail = f"{ANALYST},2026-11-18T09:00:00"
    rows = [f"V-MB,WR-09,method_blank,,Pb Cd,350,{tail},,"]
    rows.append(f"V-CS,WR-09,control_sample,,Pb Cd,350,{tail},,Pb 1050; Cd 105")
    rows += [f"{plate},WR-09,sample,{sample},Pb Cd,350,{tail},2.50," for plate in PLATES]
    return (COLUMNS + "\n".join(rows) + "\n").encode()


def section(start: str, rows: list[str], day: str = "19.11.2026") -> str:
    """One file of the demo's bench with lead alone."""
    head = f"Bench log · form B\nApparatus;TQ-F-1107\nWorker;maren.holt\nDay;{day}\n\n#Element;Pb;283,3 nm\n"
    facts = f"Procedure;PB-WARE\nWay;flame\nShown;absorbance above zero;A\nCorrection;lamp\nStart;{start}\n{TITLES}\n"
    listed = "".join(f"{nth};{one}\n" for nth, one in enumerate(rows, start=1))
    return f"{head}{facts}{listed}#End;Pb;{len(rows)}\n"


def file_of(text: str) -> bytes:
    return f"{text}#Log closed;1\n".replace("\n", "\r\n").encode("latin-1")


def standards(gain: float = 1.0) -> Iterator[str]:
    for nth, level in enumerate(LEVELS):
        signal = gain * CURVE * float(level) * (1 + 0.002 * (nth % 3))
        yield row(f"Pb-S{nth}", "S" if nth else "Z", signal, level.replace(".", ","))


def own(gain: float, rest: float) -> Iterator[str]:
    """Second source, check pair, blank and control."""
    yield row("Pb-SB", "S2", rest + gain * CURVE * 5)
    yield from (row("Pb-CK0", "C", rest + gain * CURVE * 5), row("Pb-CB0", "CZ", rest + 0.0002))
    yield from (row("V-MB", "MB", rest + 0.0003), row("V-CS", "CS", rest + gain * CURVE * 3))


def morning() -> bytes:
    """Standards and the laboratory's own solutions."""
    last = (row("Pb-CK1", "C", CURVE * 5), row("Pb-CB1", "CZ", 0.0002))
    return file_of(section("10.30.00", [*standards(), *own(1.0, 0.0), *last]))


def correction(gain: float = GAIN, label: str = "Pb-S4", holds: float = 5.0, level: str = "") -> list[str]:
    return [row("Pb-S0", "Z", REST), row(label, "SK", REST + gain * CURVE * holds, level)]


def afternoon(
    first: list[str] | None = None, start: str = "14.10.00", day: str = "19.11.2026", gain: float = GAIN
) -> bytes:
    """The plates, without standards."""
    rows = [*(correction(gain) if first is None else first), *own(gain, REST)]
    for nth, plate in enumerate(PLATES, start=1):
        rows.append(row(plate, "P", REST + gain * CURVE * (HOLDS + 0.02 * nth)))
    rows += [row("Pb-CK1", "C", REST + gain * CURVE * 5), row("Pb-CB1", "CZ", REST + 0.0002)]
    return file_of(section(start, rows, day))


def with_cadmium(lead: bytes, stage: Stage) -> bytes:
    """The same file with the cadmium of the demo's plates behind, on its own standards."""
    text = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes().decode("latin-1")
    cadmium = "#Element;Cd" + text.partition("#Element;Cd")[2]
    for theirs, ours in (("W-C1/", "V-"), ("W-MB", "V-MB"), ("W-CS", "V-CS")):
        cadmium = cadmium.replace(f";{theirs}", f";{ours}")
    return lead.replace(b"#Log closed;1\r\n", b"") + b"\r\n" + cadmium.encode("latin-1")


def prepared(stage: Stage, document: bytes | None = None) -> str:
    """The site with method, layout and sheet in force; the number of the reviewed morning run."""
    for text, name in ((document or method(), "lead.yaml"), (layout(), "layout.yaml")):
        added = perform(stage.site, AddDocument(text, name), stage.key(ANALYST)).data
        perform(stage.site, ApproveDocument(f"{added['kind']}/{added['id']}"), stage.key(APPROVER))
    with stage.site.store.reading() as view:
        sample = sample_of_lot(view, "C-1")["sample"]
    perform(stage.site, AddPreparation(sheet(sample), "v.csv"), stage.key(ANALYST))
    return reviewed(stage, morning(), "morning.txt")


def ingested(stage: Stage, data: bytes, name: str, *curves: str) -> Any:  # noqa: ANN401  a receipt
    return perform(stage.site, IngestFile(data, name, "", (), curves), stage.key(ANALYST))


def reviewed(stage: Stage, data: bytes, name: str, *curves: str) -> str:
    done = ingested(stage, data, name, *curves)
    assert done.data["runs"], done.notices
    runs = tuple(done.data["runs"])
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
    return str(runs[0])


def codes(done: Any) -> set[str]:  # noqa: ANN401  a receipt
    assert done.data["runs"] == []
    assert all(notice.remedy and notice.what and notice.where for notice in done.notices)
    return {notice.code for notice in done.notices}


def test_from_the_morning_to_a_certificate_that_verifies(stage: Stage) -> None:
    lender = prepared(stage)
    run = reviewed(stage, with_cadmium(afternoon(), stage), "plates.txt", lender)
    with stage.site.store.reading() as view:
        line = view.row("run", run=run)
        assert line is not None
        work, bound = load(view, RunWork, line["work"]), load(view, Run, line["bound"])
        theirs = view.row("run", run=lender)
        assert theirs is not None
        there = load(view, RunWork, theirs["work"])
    use = work.calibration.stored[0]
    assert (use.run, use.version, use.nominal, use.measured_at) == (lender, 1, "5.00", "2026-11-19T10:30:00Z")
    assert work.calibration.coefficients == there.calibration.coefficients
    assert (bound.stored_curve[0].work, bound.stored_curve[0].run) == (theirs["reviewed_work"], lender)
    (result,) = work.results
    assert isinstance(result.outcome, Quantified), work.findings
    expected = (HOLDS + 0.05) * 0.350 / 2.50
    assert abs(float(result.outcome.value) - expected) < 0.02 * expected
    number = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    finish(stage.site, number)
    report = verify_certificate(stage.pdf(number), trust(stage))
    assert report.word == "GENUINE", report.lines()
    assert verify_site(stage.site).findings == ()


def test_the_same_file_without_the_run_keeps_its_refusal_and_names_the_option(stage: Stage) -> None:
    prepared(stage)
    done = ingested(stage, afternoon(), "plates.txt")
    assert codes(done) == {"validate.standard-missing", "validate.correction-unplanned"}
    assert any("--curve-of" in notice.remedy for notice in done.notices if notice.code == "validate.standard-missing")


def test_where_the_method_allows_none_the_refusal_names_no_option(stage: Stage) -> None:
    lender = prepared(stage, method(""))
    done = ingested(stage, afternoon(), "plates.txt")
    missing = [notice for notice in done.notices if notice.code == "validate.standard-missing"]
    assert missing
    assert not any("--curve-of" in notice.remedy for notice in missing)
    assert codes(ingested(stage, afternoon(), "plates.txt", lender)) == {"validate.curve-not-allowed"}


def test_a_run_nobody_knows_and_one_of_another_element(stage: Stage) -> None:
    lender = prepared(stage)
    assert codes(ingested(stage, afternoon(), "plates.txt", "R-00099")) == {"ingest.curve-unknown"}
    with stage.site.store.reading() as view:
        zinc = next(str(one["run"]) for one in view.rows("run") if one["element"] == "Zn")
        lead = next(str(one["run"]) for one in view.rows("run") if one["element"] == "Pb" and one["run"] != lender)
    assert codes(ingested(stage, afternoon(), "plates.txt", zinc)) == {"ingest.curve-element"}
    assert codes(ingested(stage, afternoon(), "plates.txt", lender, lead)) == {"ingest.curve-several"}


def test_a_run_of_another_method_and_instrument_lends_nothing(stage: Stage) -> None:
    lender = prepared(stage)
    with stage.site.store.reading() as view:
        lead = next(str(one["run"]) for one in view.rows("run") if one["element"] == "Pb" and one["run"] != lender)
    assert {"validate.curve-method", "validate.curve-instrument", "validate.curve-old"} <= codes(
        ingested(stage, afternoon(), "plates.txt", lead)
    )


@pytest.mark.parametrize("state", ["draft", "submitted", "reopened", "cancelled"])
def test_a_run_that_is_not_reviewed_lends_nothing(stage: Stage, state: str) -> None:
    prepared(stage)
    runs: Any = tuple(
        ingested(stage, file_of(section("12.00.00", [*standards(1.02), *own(1.02, 0.0), *_last()])), "noon.txt").data[
            "runs"
        ]
    )
    if state != "draft":
        perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    if state in {"reopened", "cancelled"}:
        perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
        perform(stage.site, ReopenRun(runs[0], "to try"), stage.key(ANALYST), stage.key(REVIEWER))
    if state == "cancelled":
        perform(stage.site, CancelRun(runs[0], "to try"), stage.key(ANALYST), stage.key(REVIEWER))
    done = ingested(stage, afternoon(), "plates.txt", runs[0])
    assert codes(done) == {"validate.curve-not-reviewed"}
    assert f"is {state};" in done.notices[0].what


def _last() -> tuple[str, str]:
    return row("Pb-CK1", "C", CURVE * 5), row("Pb-CB1", "CZ", 0.0002)


def test_a_run_on_a_stored_curve_has_none_to_lend(stage: Stage) -> None:
    lender = prepared(stage)
    user = reviewed(stage, afternoon(), "plates.txt", lender)
    assert codes(ingested(stage, afternoon(start="16.00.00"), "later.txt", user)) == {"validate.curve-lent-on"}


def test_an_unusable_run_lends_nothing(stage: Stage) -> None:
    prepared(stage)
    bad = [*standards(), row("Pb-SB", "S2", CURVE * 7), *list(own(1.0, 0.0))[1:], *_last()]
    noon = reviewed(stage, file_of(section("12.00.00", bad)), "noon.txt")
    assert codes(ingested(stage, afternoon(), "plates.txt", noon)) == {"validate.curve-unusable"}


@pytest.mark.parametrize(
    ("start", "day", "code"),
    [
        ("10.29.59", "19.11.2026", "validate.curve-later"),
        ("10.30.01", "20.11.2026", "validate.curve-old"),
    ],
)
def test_the_age_of_a_curve(stage: Stage, start: str, day: str, code: str) -> None:
    lender = prepared(stage)
    assert codes(ingested(stage, afternoon(start=start, day=day), "plates.txt", lender)) == {code}


def test_exactly_a_day_is_no_more_than_a_day(stage: Stage) -> None:
    lender = prepared(stage)
    assert ingested(stage, afternoon(start="10.30.00", day="20.11.2026"), "plates.txt", lender).data["runs"]


def test_a_factor_outside_the_window_is_a_run_nobody_can_use(stage: Stage) -> None:
    lender = prepared(stage)
    done = ingested(stage, afternoon(gain=0.7), "plates.txt", lender)
    assert any("the factor of the correction by one standard is 1.4" in line for line in done.said), done.said
    with stage.site.store.reading() as view:
        line = view.row("run", run=done.data["runs"][0])
        assert line is not None
        assert line["usable"] == 0


def test_a_run_whose_curve_is_used_cannot_be_reopened_until_its_user_is_cancelled(stage: Stage) -> None:
    lender = prepared(stage)
    runs: Any = ingested(stage, afternoon(), "plates.txt", lender).data["runs"]
    with pytest.raises(Stopped) as stop:
        perform(stage.site, ReopenRun(lender, "to try"), stage.key(ANALYST), stage.key(REVIEWER))
    assert [notice.code for notice in stop.value.notices] == ["run.lent"]
    assert runs[0] in stop.value.notices[0].what
    perform(stage.site, CancelRun(runs[0], "to try"), stage.key(ANALYST), stage.key(REVIEWER))
    perform(stage.site, ReopenRun(lender, "to try"), stage.key(ANALYST), stage.key(REVIEWER))
    perform(stage.site, RecalculateRun(lender, "to try"), stage.key(ANALYST))
    assert verify_site(stage.site).findings == (), "the copy is of the calculation it names, which stays on record"


def test_calculating_again_keeps_the_curve(stage: Stage) -> None:
    lender = prepared(stage)
    runs: Any = ingested(stage, afternoon(), "plates.txt", lender).data["runs"]
    perform(stage.site, RecalculateRun(runs[0], "to try"), stage.key(ANALYST))
    with stage.site.store.reading() as view:
        line = view.row("run", run=runs[0])
        assert line is not None
        assert load(view, Run, line["bound"]).stored_curve[0].run == lender


def test_copied_readings_that_are_not_those_of_the_run_are_found(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody who writes another copy into the record, with every digest right, is found by comparing the runs."""
    lender = prepared(stage)

    def another(lent: Any) -> Any:  # noqa: ANN401  a record
        curve = curve_copied(lent)
        fifth = curve.solutions[4]
        changed = replace(fifth, signals=("0.0900", *fifth.signals[1:]))
        return replace(curve, solutions=(*curve.solutions[:4], changed, *curve.solutions[5:]))

    monkeypatch.setattr("benchseal.validate.check.curve_copied", another)
    runs: Any = ingested(stage, afternoon(), "plates.txt", lender).data["runs"]
    assert runs
    found = verify_site(stage.site).findings
    assert [(one.code, one.where) for one in found] == [("integrity.stored-curve", runs[0])]
    assert lender in found[0].what


def test_a_copy_of_a_calculation_nobody_made_is_found(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    lender = prepared(stage)
    monkeypatch.setattr(
        "benchseal.validate.check.curve_copied", lambda lent: replace(curve_copied(lent), work="e" * 64)
    )
    assert ingested(stage, afternoon(), "plates.txt", lender).data["runs"]
    (found,) = verify_site(stage.site).findings
    assert found.code == "integrity.stored-curve"
    assert "no calculation of that run" in found.what


def test_through_the_command_line(line: Line, tmp_path: Path) -> None:
    """The words a person types, what they are told, and the lists that follow."""
    for name, data in (("lead.yaml", method()), ("layout.yaml", layout()), ("morning.txt", morning()), ("v.csv", b"")):
        (tmp_path / name).write_bytes(data or sheet(_sample_of(line)))
    for name, what in (("lead.yaml", "method/lead-flame-ware"), ("layout.yaml", "layout/semicolon-sections")):
        assert line("document", "add", str(tmp_path / name), by=(ANALYST,)).code == 0
        assert line("document", "approve", what, by=(APPROVER,)).code == 0
    came = line("ingest", str(tmp_path / "morning.txt"), "--preparation", str(tmp_path / "v.csv"), by=(ANALYST,))
    assert came.code == 0, came
    assert line("run", "submit", "R-00008", by=(ANALYST,)).code == 0
    assert line("run", "accept", "R-00008", by=(REVIEWER,)).code == 0
    high = row("V-2", "P", REST + GAIN * CURVE * 14.0)
    read = afternoon().decode("latin-1").splitlines()
    changed = [f"{text.partition(';')[0]};{high}" if ";V-2;" in text else text for text in read]
    (tmp_path / "plates.txt").write_bytes(("\r\n".join(changed) + "\r\n").encode("latin-1"))
    refused = line("ingest", str(tmp_path / "plates.txt"), by=(ANALYST,))
    assert "--curve-of" in refused.err
    told = line("ingest", str(tmp_path / "plates.txt"), "--curve-of", "R-00008", by=(ANALYST,))
    assert told.code == 0, told
    shown = line("run", "show", "R-00009", by=(ANALYST,))
    assert "  of R-00008, version 1, 2026-11-19T10:30:00Z; net signals times 1.06" in shown.out
    assert "position 2 (5.00 mg/L), blank position 1" in shown.out
    again = line("run", "reread", "R-00009", by=(ANALYST,))
    assert "estimate about 14" in again.out, again.out
    assert "calibration of its own, 6 standards" in again.out
    assert "or, for 24 hours from 2026-11-19 10:30:00 UTC on, the curve of R-00008 again:" in again.out
    worked = line("run", "explain", "R-00009", "C-1", by=(ANALYST,))
    assert "Curve of run R-00008, version 1" in worked.out


def _sample_of(line: Line) -> str:
    answer = line("sample", "list", "--json", by=(ANALYST,))
    (found,) = [str(one["sample"]) for one in answer.json["samples"] if one["lot"] == "C-1"]
    return found
