"""A version of a profile that chooses less: what went out before is still corrected and withdrawn, where it went."""

from __future__ import annotations

import csv
import json
import re
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_after_release import WHY, corrected, issued, number_of
from tests.journeys.test_corrections import good, refused, whole
from tests.journeys.test_rows_together import profile as together

from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

OTHERS = "corrigan"
A, B = "A-1", "B-1"  # lots of ardlea


def version(line: Line, tmp_path: Path, *, customers: str = "", folder: Path, text: str = "", title: str = "") -> None:
    """A version of the profile ``narrow`` in force."""
    words = text or starter("profiles/comma-utf8.yaml").replace("comma-utf8", "narrow")
    words = re.sub("(?m)^title: .*", f"title: {title}", words) if title else words
    folder.mkdir(exist_ok=True)
    words += f"send_to: {{kind: folder, folder: {folder}}}\n"
    words += f"choose: {{customers: [{customers}]}}\n" if customers else ""
    (tmp_path / "narrow.yaml").write_text(words, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "narrow.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/narrow", "--json", by=(APPROVER,)))


def run(line: Line) -> list[str]:
    said = good(line("export", "run", "narrow", "--json", by=(APPROVER,)))
    return [str(one["delivery"]) for one in said["deliveries"]]


def withdraw(line: Line, lot: str) -> None:
    good(line("certificate", "withdraw", number_of(line, lot), "--reason", "of another", "--json", by=(APPROVER,)))


def rows(folder: Path, deliveries: list[str]) -> list[dict[str, str]]:
    found: list[dict[str, str]] = []
    for path in sorted(folder.glob("*.csv")):
        if path.stem.rpartition("_")[2] in deliveries:
            with path.open(encoding="utf-8", newline="") as lines:
                found += csv.DictReader(lines)
    return found


def held(folder: Path, lot: str) -> set[str]:
    """Results of a lot that a receiver who read every file takes for valid."""
    last = {row["result_id"]: row for path in sorted(folder.glob("*.csv"), key=lambda one: one.stem.rpartition("_")[2])
            for row in rows(folder, [path.stem.rpartition("_")[2]]) if row["lot_id"] == lot}  # fmt: skip
    return {name for name, row in last.items() if row["change_kind"] != "withdrawn"}


@pytest.fixture
def first(line: Line, tmp_path: Path) -> Path:
    """Everything was delivered by version 1; the place of it."""
    place = tmp_path / "place"
    version(line, tmp_path, folder=place)
    run(line)
    assert held(place, A)
    return place


def test_a_withdrawal_reaches_who_held_it_under_fewer_customers(line: Line, tmp_path: Path, first: Path) -> None:
    withdraw(line, A)
    version(line, tmp_path, customers=OTHERS, folder=first)
    sent = rows(first, run(line))
    assert {(row["lot_id"], row["change_kind"], row["value_number"]) for row in sent} == {(A, "withdrawn", "")}
    assert held(first, A) == set()
    assert held(first, B)  # what stands is not taken back
    assert run(line) == []
    assert whole(line)


def test_a_correction_withdraws_there_and_tells_no_new_value(line: Line, tmp_path: Path, first: Path) -> None:
    version(line, tmp_path, customers=OTHERS, folder=first)
    assert run(line) == []
    number = corrected(line)
    issued(line, str(good(line("certificate", "amend", number, "--reason", WHY, "--json", by=(ANALYST,)))["number"]))
    sent = rows(first, run(line))
    assert {(row["lot_id"], row["change_kind"], row["value_number"]) for row in sent} == {(A, "withdrawn", "")}
    withdraw_last = str(line.rows(f"SELECT max(number) FROM certificate WHERE lot = '{A}'")[0][0])  # noqa: S608
    good(line("certificate", "withdraw", withdraw_last, "--reason", "x", "--json", by=(APPROVER,)))
    assert run(line) == []  # once is enough


def last_rows(folder: Path, lot: str) -> dict[str, dict[str, str]]:
    """Of each result of a lot, the row that came last."""
    numbers = sorted(path.stem.rpartition("_")[2] for path in folder.glob("*.csv"))
    return {row["result_id"]: row for number in numbers for row in rows(folder, [number]) if row["lot_id"] == lot}


def test_what_is_chosen_again_is_sent_again_where_a_withdrawal_was_the_last_word(
    line: Line, tmp_path: Path, first: Path
) -> None:
    before = last_rows(first, A)
    version(line, tmp_path, customers=OTHERS, folder=first)
    number = corrected(line)
    issued(line, str(good(line("certificate", "amend", number, "--reason", WHY, "--json", by=(ANALYST,)))["number"]))
    run(line)
    gone = {name for name, row in last_rows(first, A).items() if row["change_kind"] == "withdrawn"}
    assert gone
    for nth in range(2):  # the second time around the same texts come in force again
        version(line, tmp_path, customers=f"ardlea, {OTHERS}", folder=first, title=f"again {nth}")
        sent = rows(first, run(line))
        assert {row["result_id"] for row in sent} == (gone if nth == 0 else set())
        version(line, tmp_path, customers=OTHERS, folder=first, title=f"less {nth}")
        assert run(line) == []  # what stays good is not taken back
    now = last_rows(first, A)
    for name in gone:
        row = now[name]
        assert (row["revision"], row["change_kind"], row["replaces_revision"]) == ("2", "corrected", "1")
        assert (row["value_number"] != "", before[name]["revision"]) == (True, "1")
    # the chain goes on: withdrawn for good, the receiver that has a value is told
    withdraw_last = str(line.rows(f"SELECT max(number) FROM certificate WHERE lot = '{A}'")[0][0])  # noqa: S608
    good(line("certificate", "withdraw", withdraw_last, "--reason", "x", "--json", by=(APPROVER,)))
    assert {(row["revision"], row["change_kind"]) for row in rows(first, run(line))} == {("3", "withdrawn")}
    version(line, tmp_path, customers=f"ardlea, {OTHERS}", folder=first, title="once more")
    assert run(line) == []
    assert whole(line)


def test_methods_that_are_chosen_again_are_sent_again_too(line: Line, tmp_path: Path, first: Path) -> None:
    kept, *left = sorted({row["method_id"] for row in last_rows(first, A).values()})
    words = starter("profiles/comma-utf8.yaml").replace("comma-utf8", "narrow") + "choose: {methods: [%s]}\n"
    version(line, tmp_path, folder=first, text=words % kept)
    number = corrected(line)
    issued(line, str(good(line("certificate", "amend", number, "--reason", WHY, "--json", by=(ANALYST,)))["number"]))
    assert {(row["method_id"], row["change_kind"]) for row in rows(first, run(line))} == {
        (kept, "corrected"), *((one, "withdrawn") for one in left)
    }  # fmt: skip
    version(line, tmp_path, folder=first, text=words % ", ".join((kept, *left)))
    sent = rows(first, run(line))
    assert {(row["method_id"], row["change_kind"], row["revision"]) for row in sent if row["lot_id"] == A} == {
        (one, "corrected", "2") for one in left
    }
    assert run(line) == []


def test_to_another_place_only_what_is_chosen_goes(line: Line, tmp_path: Path, first: Path) -> None:
    """The new place never had these results: their withdrawals go by a delivery of their own to the place that has."""
    withdraw(line, A)
    other = tmp_path / "other"
    version(line, tmp_path, customers=OTHERS, folder=other)
    dry = good(line("export", "run", "narrow", "--dry-run", "--json", by=(APPROVER,)))
    assert dry["elsewhere"] == [str(first)]
    run(line)
    assert rows(other, ["*"]) == []
    assert [*other.glob("*.csv")] == []
    assert held(first, A) == set()
    (manifest,) = [path for path in first.glob("*.manifest.json") if json.loads(path.read_text("utf-8"))["number"] == 2]
    assert json.loads(manifest.read_text("utf-8"))["profile"]["version"] == 2
    assert whole(line)


def test_new_results_and_withdrawals_part_by_place(line: Line, tmp_path: Path) -> None:
    """One run makes a delivery for each place, numbered within the profile, each once."""
    old, new = tmp_path / "old", tmp_path / "new"
    version(line, tmp_path, customers="ardlea", folder=old)
    run(line)
    withdraw(line, A)
    version(line, tmp_path, customers=OTHERS, folder=new)
    assert len(run(line)) == 2
    assert {row["change_kind"] for row in rows(new, [path.stem.rpartition("_")[2] for path in new.glob("*.csv")])} == {
        "new"
    }
    assert {path.name.count("narrow") for path in new.glob("*.csv")} == {1}
    assert held(old, A) == set()
    assert not held(new, A)
    assert run(line) == []


def test_where_the_old_place_is_away_it_waits_and_is_told(line: Line, tmp_path: Path, first: Path) -> None:
    withdraw(line, A)
    other = tmp_path / "other"
    version(line, tmp_path, customers=OTHERS, folder=other)
    first.rename(tmp_path / "gone")
    away = line("export", "run", "narrow", "--json", by=(APPROVER,))
    assert [each["code"] for each in away.json["problems"]] == ["delivery.unreachable"]
    (row,) = line.rows("SELECT delivery_id, destination FROM delivery WHERE state = 'planned' AND profile = 'narrow'")
    assert row[1] == str(first)
    # it does not go to the place of the profile as it is now, which is not to have these results
    move = ("export", "move", str(row[0]), "--reason", "gone")
    refused(line(*move, by=(ANALYST,)), "delivery.not-for-place")
    good(line(*move, "--to", str(tmp_path / "gone"), "--json", by=(ANALYST,)))
    run(line)
    assert held(tmp_path / "gone", A) == set()
    assert [*other.glob("*.csv")] == []


def test_doctor_names_what_a_withdrawn_profile_leaves_standing(line: Line, first: Path) -> None:
    def told() -> list[str]:
        return [one for one in line("doctor", by=(ANALYST,)).out.splitlines() if "doctor.receiver-holds" in one]

    good(line("document", "withdraw", "profile/narrow", "--reason", "no receiver any more", "--json", by=(APPROVER,)))
    assert told() == []  # nothing they hold is wrong
    withdraw(line, A)
    (said,) = told()
    assert "profile narrow" in said
    assert f"{len(held(first, A))} results" in said


def test_doctor_names_a_profile_in_force_that_is_refused(
    line: Line, first: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As after an update of the program: one taken before its rule was there."""
    with monkeypatch.context() as patch:
        patch.setattr("benchseal.desk.controlled.check_profile", lambda _: ())
        text = starter("profiles/comma-utf8.yaml").replace("comma-utf8", "narrow")
        version(
            line,
            first.parent,
            folder=first,
            text=text.replace("field: qualifier", "field: qualifier, map: {'<': plus}"),
        )
    said = line("doctor", by=(ANALYST,)).out
    assert "doctor.profile-refused: profile narrow" in said
    withdraw(line, A)
    assert "profile.map-misleads" in line("export", "run", "narrow", by=(APPROVER,)).err


def test_rows_of_samples_are_withdrawn_there_too(line: Line, tmp_path: Path) -> None:
    place, other = tmp_path / "place", tmp_path / "other"
    wide = together("sample").replace("id: per-sample", "id: narrow")
    version(line, tmp_path, folder=place, text=wide)
    run(line)
    withdraw(line, A)
    version(line, tmp_path, customers=OTHERS, folder=other, text=wide)
    sent = rows(place, run(line))
    assert {row["change_kind"] for row in sent} == {"withdrawn"}
    assert not {row[f"{of} value_text"] for row in sent for of in ("Pb", "Cd", "As")} - {""}
    assert [*other.glob("*.csv")] == []


def waiting(line: Line, tmp_path: Path) -> tuple[str, Path]:
    """A delivery of ardlea that waits for a folder that is away; the folder of the version in force, for another."""
    version(line, tmp_path, customers="ardlea", folder=tmp_path / "old")
    (tmp_path / "old").rmdir()
    line("export", "run", "narrow", by=(APPROVER,))
    version(line, tmp_path, customers=OTHERS, folder=tmp_path / "new")
    (row,) = line.rows("SELECT delivery_id FROM delivery WHERE state = 'planned' AND profile = 'narrow'")
    return str(row[0]), tmp_path / "new"


def test_rows_of_another_customer_do_not_go_to_the_place_in_force_however_it_is_written(
    line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    delivery, new = waiting(line, tmp_path)
    (tmp_path / "link").symlink_to(new)
    monkeypatch.chdir(tmp_path)
    for written in (f"{new}", f"{new}/", "new", "./new/../new", "link", str(tmp_path / "link")):
        move = ("export", "move", delivery, "--to", written, "--reason", "x")
        refused(line(*move, by=(ANALYST,)), "delivery.not-for-place")
        refused(line("export", "again", delivery, "--to", written, by=(APPROVER,)), "delivery.not-for-place")
    assert [*new.iterdir()] == []
    (tmp_path / "third").mkdir()
    good(line("export", "move", delivery, "--to", str(tmp_path / "third"), "--reason", "x", "--json", by=(ANALYST,)))
    run(line)
    assert held(tmp_path / "third", A)
    assert held(new, A) == set()


def test_a_folder_of_another_profile_for_another_customer_takes_nothing_by_hand(line: Line, tmp_path: Path) -> None:
    new = waiting(line, tmp_path)[1]
    text = starter("profiles/comma-utf8.yaml").replace("comma-utf8", "other") + "choose: {customers: [ardlea]}\n"
    (tmp_path / "other.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "other.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/other", "--json", by=(APPROVER,)))
    for more in ((), ("--dry-run",)):
        answer = line("export", "run", "other", "--to", str(new), *more, by=(APPROVER,))
        refused(answer, "delivery.not-for-place")
    assert line.rows("SELECT * FROM delivery WHERE profile = 'other'") == []
    # the place of the version before is still that of its receiver
    (tmp_path / "old").mkdir()
    refused(line("export", "run", "narrow", "--to", str(tmp_path / "old"), by=(APPROVER,)), "delivery.not-for-place")


def test_the_same_bytes_go_by_hand_where_they_went(line: Line, tmp_path: Path, first: Path) -> None:
    version(line, tmp_path, customers=OTHERS, folder=first)
    (delivery,) = (str(one) for (one,) in line.rows("SELECT delivery_id FROM delivery WHERE profile = 'narrow'"))
    good(line("export", "again", delivery, "--to", str(first), "--json", by=(APPROVER,)))
