"""A delivery whose place was given up: put elsewhere on record, once, with the bytes that were planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.conftest import cheap_hashes
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER
from tests.journeys.test_corrections import good, refused, whole

from benchseal.desk.delivery_lock import exporting
from benchseal.desk.site import open_site
from benchseal.export.delivery import check_manifest
from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

AWAY = "delivery.unreachable"


def versioned(line: Line, tmp_path: Path, folder: Path) -> None:
    """The profile ``again``, or a later version of it, that sends to a folder."""
    text = starter("profiles/comma-utf8.yaml").replace("comma-utf8", "again")
    (tmp_path / "again.yaml").write_text(f"{text}send_to: {{kind: folder, folder: {folder}}}\n", encoding="utf-8")
    good(line("document", "add", str(tmp_path / "again.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/again", "--json", by=(APPROVER,)))


@pytest.fixture
def waiting(line: Line, tmp_path: Path) -> str:
    """A delivery that waits for a share that is away."""
    versioned(line, tmp_path, tmp_path / "share")
    away = line("export", "run", "again", "--json", by=(APPROVER,))
    assert {each["code"] for each in away.json["problems"]} == {AWAY}
    (row,) = line.rows("SELECT delivery_id FROM delivery WHERE profile = 'again'")
    return str(row[0])


def state(line: Line, delivery: str) -> tuple[str, str]:
    (row,) = line.rows(f"SELECT state, destination FROM delivery WHERE delivery_id = '{delivery}'")  # noqa: S608
    return str(row[0]), str(row[1])


def test_to_a_folder(line: Line, waiting: str, tmp_path: Path) -> None:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    planned = line.rows("SELECT files FROM delivery WHERE profile = 'again'")
    moved = good(line("export", "move", waiting, "--to", str(folder), "--reason", "given up", "--json", by=(ANALYST,)))
    assert moved["destination"] == str(folder)
    assert state(line, waiting) == ("planned", str(folder))
    assert not [*folder.iterdir()]
    said = good(line("export", "run", "again", "--json", by=(APPROVER,)))
    assert [one["delivery"] for one in said["deliveries"]] == [waiting]
    assert state(line, waiting) == ("done", str(folder))
    assert line.rows("SELECT files FROM delivery WHERE profile = 'again'") == planned
    data, manifest = next(folder.glob("*.csv")), next(folder.glob("*.manifest.json"))
    assert check_manifest(manifest.read_bytes(), {data.name: data.read_bytes()}) == ()
    assert not (tmp_path / "share").exists()
    shown = line("ledger", "find", "--subject", f"delivery/{waiting}", by=(ANALYST,))
    assert "delivery.moved" in shown.out
    assert whole(line)


def test_to_where_the_profile_sends_now(line: Line, waiting: str, tmp_path: Path) -> None:
    refused(line("export", "move", waiting, "--reason", "x", by=(ANALYST,)), "delivery.not-moved")
    new = tmp_path / "new"
    new.mkdir()
    versioned(line, tmp_path, new)
    good(line("export", "move", waiting, "--reason", "the share was given up", "--json", by=(APPROVER,)))
    good(line("export", "run", "again", "--json", by=(APPROVER,)))
    assert state(line, waiting) == ("done", str(new))
    assert len([*new.glob("*.csv")]) == 1


@pytest.mark.refuses("A11 16")
def test_who_may_not_and_what_cannot_be_moved(line: Line, waiting: str, tmp_path: Path) -> None:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    move = ("export", "move", waiting, "--to", str(folder))
    assert line(*move, "--reason", "x", by=(REVIEWER,)).code == 5
    assert line(*move, "--reason", " ", by=(ANALYST,)).code != 0
    assert line("export", "move", "D-99999", "--reason", "x", by=(ANALYST,)).code == 5
    assert state(line, waiting)[0] == "planned"
    (done,) = line.rows("SELECT delivery_id FROM delivery WHERE state = 'done' LIMIT 1")
    refused(
        line("export", "move", str(done[0]), "--to", str(folder), "--reason", "x", by=(ANALYST,)),
        "delivery.wrong-state",
    )


def test_what_stands_in_its_folder_is_finished_there(line: Line, waiting: str, tmp_path: Path) -> None:
    share, elsewhere = tmp_path / "share", tmp_path / "elsewhere"
    elsewhere.mkdir()
    share.mkdir()
    move = ("export", "move", waiting, "--to", str(elsewhere), "--reason", "slow", "--json")
    good(line("export", "again", waiting, "--json", by=(APPROVER,)))  # as after a crash: there, and not noted
    there = line(*move, by=(ANALYST,))
    assert [one["code"] for one in there.json["problems"]] == ["delivery.is-there"]
    assert state(line, waiting) == ("planned", str(share))
    good(line("export", "run", "again", "--json", by=(APPROVER,)))
    assert state(line, waiting) == ("done", str(share))
    assert not [*elsewhere.iterdir()]


def test_not_while_an_export_is_at_work(line: Line, waiting: str, tmp_path: Path) -> None:
    move = ("export", "move", waiting, "--to", str(tmp_path), "--reason", "gone", "--json")
    site = open_site(line.site, hashes=cheap_hashes)
    with exporting(site):
        held = line(*move, by=(ANALYST,))
    assert [one["code"] for one in held.json["problems"]] == ["delivery.export-at-work"]
    site.store.close()
    assert state(line, waiting) == ("planned", str(tmp_path / "share"))
    good(line(*move, by=(ANALYST,)))
