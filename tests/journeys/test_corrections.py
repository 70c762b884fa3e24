"""A wrong mass, dilution, label or standard value, put right through the command line before and after release."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.commands import (
    ADMINISTRATOR,
    ANALYST,
    APPROVER,
    REVIEWER,
    SECOND_APPROVER,
    TRACE_ANALYST,
    one_line,
)

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line

MASS = ("preparation", "correct", "AY-01/Y-B2/1", "--set", "mass_g=1.0112", "--reason", "two figures were exchanged")


def good(answer: Answer) -> dict[str, Any]:
    assert answer.code == 0, answer.err
    return answer.json


def shown(line: Line, *words: str, by: str = ANALYST) -> dict[str, Any]:
    """The effect of a correction, seen and not done."""
    before = line.kept()
    said = good(line(*words, "--json", by=(by,)))
    assert (said["done"], line.kept()) == (False, before)
    return said


def done(line: Line, *words: str, by: tuple[str, ...]) -> dict[str, Any]:
    """A correction, seen first and then done by those it needs."""
    effect = shown(line, *words, by=by[0])
    assert effect["needs_consent"] == (len(by) > 1)
    said = good(line(*words, "--effect", effect["figures"], "--json", by=by))
    assert said["done"]
    assert said["effect"] == effect["effect"]
    return said


def refused(answer: Answer, code: str) -> None:
    assert answer.code != 0
    assert answer.err.startswith(f"{code}:"), answer.err
    assert "Traceback" not in answer.err


def whole(line: Line) -> bool:
    checked = line("verify", "--all")
    assert checked.code == 0, checked.out + checked.err
    return bool(good(line("rebuild", "--json", by=(ADMINISTRATOR,)))["changed"] == 0)


def run_row(line: Line, run: str) -> dict[str, Any]:
    row: dict[str, Any] = good(line("run", "show", run, "--json", by=(ANALYST,)))["run"]
    return row


def certificates(line: Line) -> dict[str, dict[str, str]]:
    listed = good(line("certificate", "list", "--json", by=(ANALYST,)))["certificates"]
    return {row["number"]: row for row in listed}


@pytest.mark.clause("P11 11.10(e)", "17025 7.5.2", "A11 8.2")
def test_a_wrong_mass_before_release_changes_only_what_rests_on_it(line: Line) -> None:
    """Two certificates are drafted and approved; the mass of one lot is wrong."""
    numbers = {}
    for lot in ("B-2", "B-3"):
        numbers[lot] = str(good(line("certificate", "draft", lot, "--json", by=(ANALYST,)))["number"])
        good(line("certificate", "approve", numbers[lot], "--json", by=(APPROVER,)))
    effect = shown(line, *MASS)["effect"]
    assert [one["run"] for one in effect["runs"]] == ["R-00001", "R-00002"]
    assert {one["lot"] for one in effect["results"]} == {"B-2"}
    assert len(effect["results"]) == 2
    assert effect["lots_untouched"] == 7
    assert effect["certificates"] == [{"number": numbers["B-2"], "state": "approved", "becomes": "draft again"}]
    words = line(*MASS, by=(ANALYST,)).out
    assert "2 results of 1 lot change; 7 lots untouched." in words
    assert f"certificate {numbers['B-2']} (approved) falls back to draft" in words
    done(line, *MASS, by=(ANALYST, REVIEWER))
    assert certificates(line)[numbers["B-2"]]["state"] == "draft"
    assert certificates(line)[numbers["B-3"]]["state"] == "approved"
    refused(line("certificate", "approve", numbers["B-2"], by=(APPROVER,)), "certificate.run-changed")
    # The untouched lot is released while the run is open again: its signatures hold.
    file = good(line("certificate", "release", numbers["B-3"], "--json", by=(SECOND_APPROVER,)))["file"]
    assert line("verify", str(file)).out.splitlines()[0] == "GENUINE"
    assert run_row(line, "R-00001")["state"] == "reopened"
    changes = good(line("run", "show", "R-00001", "--changes", "--json", by=(REVIEWER,)))["changes"]
    assert [one["lot"] for one in changes["results"]] == ["B-2"]
    assert changes["untouched"] == 7
    assert [(one["name"], one["new"], one["reason"]) for one in changes["corrected"]] == [
        ("mass_g", "1.0112", "two figures were exchanged")
    ]
    good(line("run", "submit", "R-00001", "R-00002", "--json", by=(ANALYST,)))
    accepted = line("run", "accept", "R-00001", "R-00002", by=(REVIEWER,))
    assert "1 result changed against version 1, 7 keep their signatures of before" in accepted.out
    good(line("certificate", "discard", numbers["B-2"], "--reason", "the mass was wrong", "--json", by=(ANALYST,)))
    again = str(good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", again, "--json", by=(APPROVER,)))
    file = good(line("certificate", "release", again, "--json", by=(SECOND_APPROVER,)))["file"]
    assert line("verify", str(file)).out.splitlines()[0] == "GENUINE"
    assert "mass_g" in line("certificate", "show", again, by=(ANALYST,)).out
    assert whole(line)


@pytest.mark.clause("P11 11.70", "P11 11.10(e)")
def test_signatures_of_untouched_results_stay_and_are_told(line: Line) -> None:
    before = good(line("run", "show", "R-00001", "--json", by=(ANALYST,)))["signatures"]
    assert {one["version"] for one in before} == {1}
    done(line, *MASS, by=(ANALYST, REVIEWER))
    good(line("run", "submit", "R-00001", "R-00002", "--json", by=(ANALYST,)))
    good(line("run", "accept", "R-00001", "R-00002", "--json", by=(REVIEWER,)))
    after = good(line("run", "show", "R-00001", "--json", by=(ANALYST,)))["signatures"]
    old = {one["result_id"]: one for one in before}
    changed = [one for one in after if one != old[one["result_id"]]]
    assert [(one["sample"], one["version"]) for one in changed] == [("S-00006", 2)]
    assert changed[0]["digest"] != old[changed[0]["result_id"]]["digest"]
    words = line("run", "show", "R-00001", by=(ANALYST,)).out
    assert "since version 2: S-00006" in words
    # A certificate drafted now for an untouched lot shows it with the signatures of version 1.
    number = str(good(line("certificate", "draft", "B-3", "--json", by=(ANALYST,)))["number"])
    runs = good(line("certificate", "show", number, "--json", by=(ANALYST,)))["runs"]
    assert {run["run"]: run["version"] for run in runs}["R-00001"] == 1
    assert whole(line)


@pytest.mark.clause("P11 11.10(e)", "17025 7.5", "A11 8.2")
def test_after_release_the_certificate_stands_and_is_flagged_until_justified(line: Line) -> None:
    first = str(line.rows("SELECT number FROM certificate WHERE lot = 'A-1'")[0][0])
    sealed = line.rows(f"SELECT sealed FROM certificate WHERE number = '{first}'")  # noqa: S608
    wrong = ("preparation", "correct", "AY-01/Y-A1/1", "--set", "mass_g=1.0001", "--reason", "read from the printout")
    effect = done(line, *wrong, by=(ANALYST, APPROVER))["effect"]
    assert effect["certificates"] == [{"number": first, "state": "released", "becomes": "must amend or justify"}]
    row = certificates(line)[first]
    assert (row["state"], row["flag"]) == ("released", "must amend or justify")
    assert line.rows(f"SELECT sealed FROM certificate WHERE number = '{first}'") == sealed  # noqa: S608
    assert "to amend or justify 1" in line("status", by=(ANALYST,)).out
    why = line("certificate", "why-not", first, "--json", by=(ANALYST,))
    assert why.code == 10
    assert "certificate.flagged" in {one["code"] for one in why.json["blockers"]}
    justify = ("certificate", "justify", first, "--reason", "the printed value is the same")
    refused(line(*justify, by=(APPROVER,)), "certificate.correction-open")
    good(line("run", "submit", "R-00001", "R-00002", "--json", by=(ANALYST,)))
    good(line("run", "accept", "R-00001", "R-00002", "--json", by=(REVIEWER,)))
    refused(line(*justify[:-1], " ", by=(APPROVER,)), "act.reason")
    refused(line(*justify, by=(ANALYST,)), "act.role")
    good(line(*justify, "--json", by=(APPROVER,)))
    assert certificates(line)[first]["flag"] == ""
    refused(line(*justify, by=(APPROVER,)), "certificate.not-flagged")
    assert "to amend or justify 0" in line("status", by=(ANALYST,)).out
    told = line("certificate", "show", first, by=(ANALYST,)).out
    assert "mass_g: " in told
    assert "-> 1.0001" in told
    assert "read from the printout" in told
    assert line("verify", str(line.site / "certificates" / f"{first}.pdf")).out.splitlines()[0] == "GENUINE"
    assert whole(line)


@pytest.mark.clause("17025 7.5")
def test_a_dilution_of_one_element_changes_that_element_alone(line: Line) -> None:
    """One digest served zinc and magnesium; only zinc's dilution was typed wrong."""
    words = (
        "preparation",
        "correct",
        "AY-01/Y-B3/1",
        "--set",
        "dilutions=Mg 10/100 4/100; Zn 5/50",
        "--reason",
        "the flask",
    )
    effect = shown(line, *words)["effect"]
    assert [change["name"] for change in effect["changes"]] == ["dilutions"]
    assert {one["run"] for one in effect["results"]} == {"R-00001"}


@pytest.mark.clause("17025 7.5.2")
def test_a_wrong_standard_value_changes_every_result_of_that_lot_in_proportion(line: Line) -> None:
    words = ("standard", "correct", "DW-Zn-26", "--set", "value=990", "--reason", "the certificate says 990")
    effect = shown(line, *words)["effect"]
    assert [(one["name"], one["new"]) for one in effect["changes"]] == [("value", "990"), ("prepared_as", "1000")]
    assert [one["run"] for one in effect["runs"]] == ["R-00001"]
    assert effect["runs"][0]["untouched"] == 0
    for one in effect["results"]:
        before, after = (float(one[side].split("of record ")[1].rstrip(")")) for side in ("old", "new"))
        assert after == pytest.approx(0.99 * before, rel=2e-3)  # the blank and the second source stay
    done(line, *words, by=(ANALYST, APPROVER))
    good(line("run", "submit", "R-00001", "--json", by=(ANALYST,)))
    good(line("run", "accept", "R-00001", "--json", by=(REVIEWER,)))
    number = str(good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    file = good(line("certificate", "release", number, "--json", by=(SECOND_APPROVER,)))["file"]
    assert line("verify", str(file)).out.splitlines()[0] == "GENUINE"  # recomputed with the standards as they were
    assert whole(line)


@pytest.mark.clause("17025 7.5")
def test_a_second_source_changes_its_check_and_no_value(line: Line) -> None:
    words = ("standard", "correct", "SA-Zn-26", "--set", "value=990", "--reason", "the certificate says 990")
    effect = shown(line, *words)["effect"]
    assert all(one["old"] == one["new"] for one in effect["results"])
    assert [check["name"] for run in effect["runs"] for check in run["checks"]] == ["second-source at 8"]


@pytest.mark.clause("P11 11.10(e)", "A11 8.2")
def test_words_of_a_sample_change_no_result_but_the_certificates_that_print_them(line: Line) -> None:
    first = str(line.rows("SELECT number FROM certificate WHERE lot = 'A-1'")[0][0])
    number = str(good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))["number"])
    words = ("--set", "condition=one bag torn", "--reason", "the receipt note says so")
    effect = shown(line, "sample", "correct", "A-1", *words)["effect"]
    assert (effect["results"], effect["runs"]) == ([], [])
    assert [one["number"] for one in effect["certificates"]] == [first]
    done(line, "sample", "correct", "B-2", *words, by=(ANALYST,))  # a draft only: nobody signed it
    refused(line("certificate", "approve", number, by=(APPROVER,)), "certificate.sample-changed")
    good(line("certificate", "discard", number, "--reason", "condition was wrong", "--json", by=(ANALYST,)))
    again = str(good(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", again, "--json", by=(APPROVER,)))
    done(line, "sample", "correct", "A-1", *words, by=(ANALYST, APPROVER))
    assert certificates(line)[first]["flag"] == "must amend or justify"
    assert whole(line)


@pytest.mark.clause("17025 7.5", "P11 11.10(e)")
def test_two_tubes_exchanged_are_told_apart_again(line: Line) -> None:
    positions = places(line, "R-00001")
    one, other = positions["Y-B2/1"], positions["Y-B3/1"]
    swap = (
        "run", "relabel", "R-00001", str(one), "--sample", "S-00007:Y-B3/1", "--also", f"{other}=S-00006:Y-B2/1",
        "--reason", "the tubes stood in each other's places",
    )  # fmt: skip
    effect = shown(line, *swap)["effect"]
    assert {each["lot"] for each in effect["results"]} == {"B-2", "B-3"}
    assert [(each["old"], each["new"]) for each in effect["changes"]] == [("Y-B2/1", "Y-B3/1"), ("Y-B3/1", "Y-B2/1")]
    alone = swap[:6] + swap[8:]
    refused(line(*alone, by=(ANALYST,)), "correction.run-unfit")  # then one tube would have been read twice
    done(line, *swap, by=(ANALYST, REVIEWER))
    assert places(line, "R-00001")["Y-B3/1"] == one
    refused(line(*swap, by=(ANALYST,)), "correction.nothing-changes")
    good(line("run", "recalculate", "R-00001", "--reason", "once more", "--json", by=(ANALYST,)))
    assert places(line, "R-00001")["Y-B3/1"] == one  # what was put right stays put right
    good(line("run", "submit", "R-00001", "--json", by=(ANALYST,)))
    good(line("run", "accept", "R-00001", "--json", by=(REVIEWER,)))
    number = str(good(line("certificate", "draft", "B-3", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    file = good(line("certificate", "release", number, "--json", by=(SECOND_APPROVER,)))["file"]
    assert line("verify", str(file)).out.splitlines()[0] == "GENUINE"
    assert whole(line)


@pytest.mark.clause("17025 7.5", "P11 11.10(e)")
def test_a_reading_is_left_out_for_a_cause_and_stays_on_record(line: Line) -> None:
    position = places(line, "R-00001")["Y-B2/1"]
    words = ("run", "exclude", "R-00001", str(position), "--cause", "uptake", "--reason", "a bubble was seen")
    effect = done(line, *words, by=(ANALYST, REVIEWER))["effect"]
    assert {each["lot"] for each in effect["results"]} == {"B-2"}
    told = line("run", "show", "R-00001", by=(ANALYST,)).out
    assert f"position {position}: used -> left out: air or a blockage in the uptake" in told
    assert "left out by a person for a cause found and recorded" in told
    refused(line(*words, by=(ANALYST,)), "correction.nothing-changes")
    good(line("run", "submit", "R-00001", "--json", by=(ANALYST,)))
    good(line("run", "accept", "R-00001", "--json", by=(REVIEWER,)))
    number = str(good(line("certificate", "draft", "B-3", "--json", by=(ANALYST,)))["number"])
    good(line("certificate", "approve", number, "--json", by=(APPROVER,)))
    file = good(line("certificate", "release", number, "--json", by=(SECOND_APPROVER,)))["file"]
    assert line("verify", str(file)).out.splitlines()[0] == "GENUINE"
    assert whole(line)


def test_a_sample_prepared_and_not_measured_has_its_reason(line: Line) -> None:
    lost = good(line("run", "show", "R-00003", "--json", by=(TRACE_ANALYST,)))["work"]["results"]
    sample = next(one["sample"] for one in lost if "not measured in this run" in one["outcome"].get("why", ""))
    why = ("--cause", "other-run", "--reason", "the rest of the tray was read in the second run")
    words = ("run", "not-measured", "R-00003", sample, *why)
    done(line, *words, by=(TRACE_ANALYST, REVIEWER))
    told = line("run", "show", "R-00003", by=(ANALYST,)).out
    assert (
        "not measured in this run: it was read in another run: the rest of the tray was read in the second run" in told
    )
    refused(line(*words, by=(TRACE_ANALYST,)), "correction.nothing-changes")
    lost = ("--cause", "container", "--reason", "lost")
    refused(line("run", "not-measured", "R-00001", "S-00001", *lost, by=(ANALYST,)), "run.was-measured")
    refused(
        line("run", "not-measured", "R-00003", sample, "--cause", "mislaid", "--reason", "lost", by=(ANALYST,)),
        "run.not-measured-cause",
    )
    assert whole(line)


@pytest.mark.refuses("P11 11.10(e)", "17025 7.5.2")
def test_what_was_read_is_never_said_not_to_be_measured(line: Line) -> None:
    """Every plate of S-00009 but the spilled one was read; a fifth that nobody could read opens no door."""
    file = str(line.site / "inbox" / "flame-ware.txt")
    runs = good(line("ingest", file, "--json", by=(ANALYST,)))["files"][0]["runs"]
    before = line.kept()
    for run in runs:
        words = ("run", "not-measured", run, "S-00009", "--cause", "withdrawn", "--reason", "the customer took it back")
        answer = line(*words, by=(ANALYST,))
        refused(answer, "run.was-measured")
        assert "read in it, at positions 12, 13, 14, 15." in answer.err
    assert line.kept() == before


@pytest.mark.refuses("P11 11.10(e)")
def test_what_was_lost_in_preparation_needs_no_second_reason(line: Line, tmp_path: Path) -> None:
    row = "W-X/1,WR-01,sample,S-00006,Pb Cd,350,p-maren.holt,2026-11-18T10:00:00,the tray fell"
    head = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,not_determined"
    (tmp_path / "late.csv").write_text(f"{head}\n{row}\n", encoding="utf-8")
    good(line("preparation", "add", str(tmp_path / "late.csv"), "--json", by=(ANALYST,)))
    file = str(line.site / "inbox" / "flame-ware.txt")
    run = good(line("ingest", file, "--json", by=(ANALYST,)))["files"][0]["runs"][0]
    answer = line("run", "not-measured", run, "S-00006", "--cause", "container", "--reason", "x", by=(ANALYST,))
    refused(answer, "run.not-prepared")
    assert "nothing of S-00006 was to be measured; the preparation says of it: W-X/1: the tray fell." in answer.err


@pytest.mark.clause("A11 8.2", "P11 11.10(e)")
def test_why_a_sample_has_no_reading_at_all_is_found_again(line: Line) -> None:
    """It has no result in the run, so nothing is calculated otherwise; the statement is shown all the same."""
    run, words = "R-00004", "it was not presented to the instrument: the cups were left out"
    results = good(line("run", "show", run, "--json", by=(ANALYST,)))["work"]["results"]
    assert "S-00001" not in {one["sample"] for one in results}
    why = ("--cause", "not-presented", "--reason", "the cups were left out")
    done(line, "run", "not-measured", run, "S-00001", *why, by=(TRACE_ANALYST, REVIEWER))
    said = good(line("run", "show", run, "--json", by=(ANALYST,)))
    (change,) = said["corrected"]
    assert (change["name"], change["new"], change["person"]) == ("S-00001 not measured", words, TRACE_ANALYST)
    assert f"S-00001 not measured: no reason given -> {words}" in line("run", "show", run, by=(ANALYST,)).out
    told = line("ledger", "show", f"run/{run}", "--changes", by=(ANALYST,)).out
    assert f"S-00001 not measured: no reason given -> {words}" in told
    assert said["run"]["state"] == "reopened"
    refused(line("run", "not-measured", run, "S-00001", *why, by=(TRACE_ANALYST,)), "correction.nothing-changes")
    assert whole(line)


@pytest.mark.clause("A11 8.2")
def test_of_a_sample_read_in_part_only_what_was_not_read_is_spoken_of(line: Line) -> None:
    why = ("--cause", "not-enough", "--reason", "the tube was empty")
    effect = done(line, "run", "not-measured", "R-00004", "S-00006", *why, by=(TRACE_ANALYST, REVIEWER))["effect"]
    assert [one["name"] for one in effect["changes"]] == ["S-00006, of it T-B2/2 not measured"]


def places(line: Line, run: str) -> dict[str, int]:
    """Label to position, as the run's results name them."""
    work = good(line("run", "show", run, "--json", by=(ANALYST,)))["work"]
    return {
        portion["portion"]: portion["position"]
        for result in work["results"]
        for portion in result["portions"]
        if portion["position"]
    }


def test_the_pipe_is_read_person_by_person(line: Line, tmp_path: Path) -> None:
    figures = shown(line, *MASS)["figures"]
    before = line.kept()
    refused(line(*MASS, "--effect", figures, by=(ANALYST,)), "sign-in.secret-short")
    answer = line(*MASS, "--effect", figures)
    assert (answer.code, one_line(answer.err)) == (5, True)
    (tmp_path / "secret").write_text("p-maren.holt\nx\n", encoding="utf-8")
    with (tmp_path / "secret").open(encoding="utf-8") as file:
        refused(line(*MASS, "--effect", figures, "--secret-fd", str(file.fileno())), "sign-in.secret-in-file")
    assert line.kept() == before
    assert line(*MASS, "--effect", figures, "--dry-run", by=(ANALYST,)).code == 0
    assert line.kept() == before
