"""A planned delivery whose place never comes back: given up or arrived after all, each revision once either way."""

from __future__ import annotations

import csv
import json
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest
from tests.conftest import cheap_hashes
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER
from tests.journeys.test_after_release import WHY, corrected, issued, number_of
from tests.journeys.test_beside import PROFILE
from tests.journeys.test_corrections import good, whole
from tests.journeys.test_rows_together import approved, results

from benchseal.desk import deliveries
from benchseal.desk.delivery_lock import exporting
from benchseal.desk.drop import drop
from benchseal.desk.site import open_site
from benchseal.desk.trail import of_lot
from benchseal.problems import Stopped
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line

ASKED = ("--confirmed-by", "Ida Brook of the receiver, by telephone", "--reason", "their server was shut down")


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A share that is not mounted."""
    return tmp_path / "share"


@pytest.fixture
def planned(line: Line, place: Path, tmp_path: Path) -> str:
    """The number of a delivery that waits for its place."""
    text = PROFILE + f"send_to: {{kind: folder, folder: '{place}'}}\n"
    (tmp_path / "whole.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    assert run(line).code == 7
    (number,) = waiting(line)
    return number


def run(line: Line, *more: str) -> Answer:
    return line("export", "run", "whole", *more, "--json", by=(APPROVER,))


def close(line: Line, number: str, arrived: str, *, by: str = APPROVER, words: tuple[str, ...] = ASKED) -> Answer:
    return line("export", "close", number, "--arrived", arrived, *words, "--json", by=(by,))


def refused(answer: Answer, code: str) -> None:
    assert answer.code != 0
    assert [one["code"] for one in json.loads(answer.out)["problems"]] == [code]


def waiting(line: Line) -> list[str]:
    return [str(one) for (one,) in line.rows("SELECT delivery_id FROM delivery WHERE state = 'planned'")]


def state(line: Line, number: str) -> str:
    return str(line.rows(f"SELECT state FROM delivery WHERE delivery_id = '{number}'")[0][0])  # noqa: S608


def claimed(line: Line) -> Counter[tuple[str, str]]:
    rows = line.rows("SELECT result_id, revision FROM delivered WHERE profile = 'whole'")
    return Counter((str(name), str(int(revision))) for name, revision in rows)


def released(line: Line) -> Counter[tuple[str, str]]:
    rows = line.rows("SELECT result_id, revision FROM released")
    return Counter((str(name), str(int(revision))) for name, revision in rows)


def received(*folders: Path) -> Counter[tuple[str, str]]:
    """Every row of every file in these folders, read by another library than wrote it."""
    found: Counter[tuple[str, str]] = Counter()
    for file in (file for folder in folders for file in sorted(folder.glob("whole_*.csv"))):
        with file.open(encoding="utf-8", newline="") as lines:
            found.update((row["id"], row["revision"]) for row in csv.DictReader(lines))
    return found


def manifest(folder: Path, number: str) -> dict[str, Any]:
    (file,) = folder.glob(f"*_{number}.manifest.json")
    return dict(json.loads(file.read_text(encoding="utf-8")))


def test_given_up_its_results_are_due_again_and_come_once(line: Line, planned: str, tmp_path: Path) -> None:
    everything = released(line)
    assert claimed(line) == everything
    said = good(close(line, planned, "no"))
    assert (said["state"], said["results"], said["overtaken"]) == ("given up", everything.total(), 0)
    assert (state(line, planned), waiting(line), claimed(line)) == ("given up", [], Counter())
    there = tmp_path / "there"
    there.mkdir()
    done = good(run(line, "--to", str(there)))
    (one,) = done["deliveries"]
    assert done["new_rows"] == everything.total()
    assert received(there) == everything == claimed(line)
    assert manifest(there, one["delivery"])["number"] == 2  # a number is never used again
    assert manifest(there, one["delivery"])["given_up"] == [1]
    assert good(run(line, "--to", str(there)))["deliveries"] == []
    assert whole(line)


def test_what_was_planned_since_is_not_lost_and_comes_once(
    line: Line, planned: str, place: Path, tmp_path: Path
) -> None:
    good(line("certificate", "withdraw", _number(line, "B-1"), "--reason", "of another", "--json", by=(APPROVER,)))
    there = tmp_path / "there"
    there.mkdir()
    later = run(line, "--to", str(there))  # the first is still tried, and its place is away
    assert later.code == 7
    gone = received(there)
    assert {revision for _, revision in gone} == {"2"}
    said = good(close(line, planned, "no"))
    assert said["overtaken"] == gone.total() > 0
    done = good(run(line, "--to", str(there)))
    assert done["new_rows"] == said["results"] == released(line).total() - 2 * gone.total()
    everything = released(line) - Counter((name, "1") for name, _ in gone)
    assert received(there) == everything  # an old value never comes behind the later revision
    assert good(run(line, "--to", str(there)))["new_rows"] == 0
    assert not place.exists()
    assert whole(line)


def test_two_given_up_in_any_order_come_once(line: Line, planned: str, place: Path) -> None:
    number = corrected(line)
    amended = str(good(line("certificate", "amend", number, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, amended)
    assert run(line).code == 7
    first, second = sorted(waiting(line))
    assert first == planned
    good(close(line, first, "no"))
    good(close(line, second, "no"))
    place.mkdir()
    done = good(run(line))
    assert received(place) == released(line) == claimed(line)
    assert manifest(place, done["deliveries"][0]["delivery"])["given_up"] == [1, 2]
    assert whole(line)


@pytest.mark.parametrize("kind", ["per-sample", "per-certificate"])
def test_rows_of_several_results_given_up_come_once(
    line: Line, tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    approved(line, tmp_path)
    there = tmp_path / "there"
    words = ("export", "run", kind, "--to", str(there), "--json")
    with monkeypatch.context() as gone:  # the share goes away just after it was looked at
        gone.setattr("benchseal.cli.exports.require_folder", lambda _: None)
        assert line(*words, by=(APPROVER,)).code == 7
    (number,) = waiting(line)
    good(close(line, number, "no"))
    there.mkdir()
    done = good(line(*words, by=(APPROVER,)))
    (file,) = there.glob("*.csv")
    with file.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert done["new_rows"] == len(rows) > 0
    names = [name for row in rows for name in results([row])]
    assert sorted(names) == sorted(results(rows))  # each in one row
    assert {row["change_kind"] for row in rows} == {"new"}
    assert good(line(*words, by=(APPROVER,)))["new_rows"] == 0
    assert whole(line)


def test_another_version_of_the_profile_delivers_what_the_first_could_not(
    line: Line, planned: str, tmp_path: Path
) -> None:
    there = tmp_path / "other"
    there.mkdir()
    text = PROFILE + f"send_to: {{kind: folder, folder: '{there}'}}\n"
    (tmp_path / "whole.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    good(close(line, planned, "no"))
    good(run(line))
    assert received(there) == released(line)
    assert whole(line)


def test_arrived_by_another_way_nothing_is_due_again(line: Line, planned: str, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    good(line("export", "again", planned, "--to", str(stick), "--json", by=(APPROVER,)))
    assert state(line, planned) == "planned"
    assert good(close(line, planned, "yes"))["state"] == "done"
    assert (state(line, planned), waiting(line)) == ("done", [])
    assert received(stick) == released(line) == claimed(line)
    said = good(run(line))
    assert (said["new_rows"], said["deliveries"]) == (0, [])
    refused(close(line, planned, "no"), "delivery.wrong-state")
    refused(close(line, planned, "yes"), "delivery.wrong-state")
    assert whole(line)


def test_it_turns_up_after_all(line: Line, planned: str) -> None:
    everything = claimed(line)
    good(close(line, planned, "no"))
    assert good(close(line, planned, "yes"))["state"] == "done"
    assert claimed(line) == everything
    assert good(run(line))["new_rows"] == 0
    assert whole(line)


def test_it_turns_up_after_its_results_went_out_again(line: Line, planned: str, place: Path, tmp_path: Path) -> None:
    good(close(line, planned, "no"))
    place.mkdir()
    (one,) = good(run(line))["deliveries"]
    answered = close(line, planned, "yes")
    refused(answered, "delivery.sent-again")
    assert one["delivery"] in json.loads(answered.out)["problems"][0]["what"]
    (tmp_path / "answer.txt").write_text(f"delivery_id,state,row_no,reason\n{planned},accepted,,\n", encoding="utf-8")
    refused(
        line("export", "acknowledge", str(tmp_path / "answer.txt"), "--json", by=(ANALYST,)), "delivery.answered-after"
    )
    refused(line("export", "again", planned, "--to", str(tmp_path), "--json", by=(APPROVER,)), "delivery.given-up")
    assert state(line, planned) == "given up"
    assert whole(line)


def test_a_file_that_stands_there_is_never_given_up(line: Line, planned: str, place: Path) -> None:
    place.mkdir()
    good(line("export", "again", planned, "--json", by=(APPROVER,)))  # as after a crash: there, and not noted
    assert received(place).total() > 0
    before = line.kept()
    refused(close(line, planned, "no"), "delivery.is-there")
    assert (line.kept().objects, state(line, planned)) == (before.objects, "planned")
    for file in place.iterdir():
        file.unlink()
    good(close(line, planned, "no"))
    assert state(line, planned) == "given up"


@pytest.mark.parametrize("person", [ANALYST, REVIEWER])
def test_an_approver_says_so(line: Line, planned: str, person: str) -> None:
    refused(close(line, planned, "no", by=person), "act.role")
    assert state(line, planned) == "planned"


def test_being_signed_in_is_not_enough(line: Line, planned: str) -> None:
    good(line("sign-in", "--json", by=(APPROVER,)))
    refused(line("export", "close", planned, "--arrived", "no", *ASKED, "--json"), "sign-in.none")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--confirmed-by", " ", "--reason", "gone"), "delivery.unconfirmed"),
        (("--confirmed-by", "Ida Brook", "--reason", " "), "act.reason"),
    ],
)
def test_it_says_who_confirmed_it_and_why(line: Line, planned: str, words: tuple[str, ...], code: str) -> None:
    refused(close(line, planned, "no", words=words), code)
    refused(close(line, "D-09999", "no"), "delivery.unknown")
    assert state(line, planned) == "planned"


def test_not_while_an_export_is_at_work(line: Line, planned: str) -> None:
    site = open_site(line.site, hashes=cheap_hashes)
    with exporting(site), exporting(site):
        refused(close(line, planned, "no"), "delivery.export-at-work")
    good(close(line, planned, "no"))
    with pytest.raises(Stopped, match=r"delivery\.given-up"):
        deliveries.finish(site, planned)  # an exporter that had seen it planned
    site.store.close()


def test_an_exporter_the_lock_does_not_hold_says_what_it_did(
    line: Line, planned: str, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.mkdir()
    site = open_site(line.site, hashes=cheap_hashes)

    def meanwhile(*given: Any) -> Any:  # noqa: ANN401  as the function itself
        with monkeypatch.context() as other:  # another machine, whose lock is another
            other.setattr("benchseal.desk.delivery_lock._take", lambda *_, **__: None)
            good(close(line, planned, "no"))
        return drop(*given)

    monkeypatch.setattr("benchseal.desk.deliveries.drop", meanwhile)
    with pytest.raises(Stopped, match=r"delivery\.put-down-after"):
        deliveries.finish(site, planned)
    site.store.close()
    assert received(place) == released(line)
    good(close(line, planned, "yes"))
    assert good(run(line))["new_rows"] == 0
    assert whole(line)


def test_monitoring_and_the_trail_follow(line: Line, planned: str) -> None:
    def found() -> list[str]:
        site = open_site(line.site, hashes=cheap_hashes)
        try:
            return [one.where for one in examine(site) if one.code == "doctor.delivery"]
        finally:
            site.store.close()

    assert found() == [planned]
    assert "deliveries open 1" in line("status", by=(APPROVER,)).out
    good(close(line, planned, "no"))
    assert found() == []
    assert "deliveries open 0" in line("status", by=(APPROVER,)).out
    trail = line("ledger", "show", planned, by=(APPROVER,)).out
    assert "delivery.given_up" in trail
    assert "their server was shut down" in trail
    site = open_site(line.site, hashes=cheap_hashes)
    with site.store.reading() as view:
        _, entries = of_lot(view, "A-1")
    site.store.close()
    assert "delivery.given_up" in {entry.kind for entry in entries}


def _number(line: Line, lot: str) -> str:
    return str(line.rows(f"SELECT number FROM certificate WHERE lot = '{lot}'")[0][0])  # noqa: S608


# ------------------------------------------------------------------ beside new rows that are refused

ODD = "two depots were mixed up (\u0141\u00f3d\u017a)"


@pytest.fixture
def refusing(line: Line, planned: str, place: Path, tmp_path: Path) -> str:
    """A delivery whose place came back, while a new row has text the version in force cannot write."""
    text = PROFILE.replace("encoding: utf-8", "encoding: windows-1252")
    assert text != PROFILE
    unit = "  - {title: unit, field: unit_ucum}\n"
    text = text.replace(unit, unit + "  - {title: why, field: change_reason}\n")
    text += f"send_to: {{kind: folder, folder: '{place}'}}\n"
    (tmp_path / "whole.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    good(line("certificate", "withdraw", number_of(line, "A-3"), "--reason", ODD, "--json", by=(APPROVER,)))
    place.mkdir()
    return planned


def codes(answer: Answer) -> list[str]:
    return [str(one["code"]) for one in json.loads(answer.out)["problems"]]


def test_what_waits_goes_also_where_what_is_new_is_refused(
    line: Line, refusing: str, place: Path, tmp_path: Path
) -> None:
    everything = claimed(line)
    log = tmp_path / "events.jsonl"
    tried = run(line, "--dry-run")
    assert (tried.code, set(codes(tried)), tried.json["waiting"]) == (4, {"export.not-in-encoding"}, [refusing])
    assert (tried.json["rows"], tried.json["results"]) == (0, 0)
    assert waiting(line) == [refusing]
    done = run(line, "--log", str(log))
    assert (done.code, set(codes(done))) == (4, {"export.not-in-encoding"})
    assert ([one["delivery"] for one in done.json["deliveries"]], done.json["new_rows"]) == ([refusing], 0)
    assert (state(line, refusing), waiting(line), received(place)) == ("done", [], everything)
    events = [json.loads(one)["event"] for one in log.read_text("utf-8").splitlines()]
    assert [events[0], *sorted(set(events[1:-1])), events[-1]] == [
        "export.begun", "export.delivered", "export.problem", "export.ended"
    ]  # fmt: skip
    again = run(line)
    assert (again.code, again.json.get("deliveries", [])) == (4, [])
    assert claimed(line) == everything


def test_whoever_may_not_export_finishes_nothing(line: Line, refusing: str, place: Path) -> None:
    answer = line("export", "run", "whole", "--json", by=(REVIEWER,))
    assert answer.code == 5
    assert (waiting(line), list(place.iterdir())) == ([refusing], [])
