"""Where a delivery may go, what is said of one that waits elsewhere, and what a trial says beforehand."""

from __future__ import annotations

import json
import shutil
import sqlite3
import zlib
from typing import TYPE_CHECKING, NamedTuple

import pytest
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_beside import PROFILE
from tests.journeys.test_corrections import good, refused

from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line


def approved(line: Line, tmp_path: Path, more: str = "", name: str = "whole") -> None:
    (tmp_path / "whole.yaml").write_text(PROFILE.replace("id: whole", f"id: {name}") + more, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", f"profile/{name}", "--json", by=(APPROVER,)))


def planned(line: Line) -> list[tuple[object, ...]]:
    return line.rows("SELECT delivery_id FROM delivery WHERE profile = 'whole'")


@pytest.mark.parametrize("more", [(), ("--dry-run",)], ids=["run", "trial"])
def test_an_empty_folder_is_no_folder(line: Line, tmp_path: Path, more: tuple[str, ...]) -> None:
    approved(line, tmp_path)
    refused(line("export", "run", "whole", "--to", "", *more, by=(APPROVER,)), "delivery.to-empty")
    refused(line("export", "move", "D-00001", "--to", " ", "--reason", "x", by=(ANALYST,)), "delivery.to-empty")
    refused(line("export", "again", "D-00001", "--to", "", by=(APPROVER,)), "delivery.to-empty")
    assert planned(line) == []


def test_a_folder_that_is_none_is_told_before_anything_is_planned(line: Line, tmp_path: Path) -> None:
    approved(line, tmp_path)
    (tmp_path / "file").write_text("x", encoding="utf-8")
    for name, words in (("file", "it is not a folder"), ("gone", "there is no such folder")):
        answer = line("export", "run", "whole", "--to", str(tmp_path / name), by=(APPROVER,))
        assert answer.code == 7
        assert f"delivery.unreachable: {tmp_path / name}: {words}. Nothing was planned." in answer.err
    assert planned(line) == []


@pytest.mark.parametrize("more", [(), ("--dry-run",)], ids=["run", "trial"])
@pytest.mark.parametrize("inside", ["", "private", "certificates"])
def test_nothing_goes_into_a_site(line: Line, tmp_path: Path, inside: str, more: tuple[str, ...]) -> None:
    approved(line, tmp_path)
    into = str(line.site / inside)
    refused(line("export", "run", "whole", "--to", into, *more, by=(APPROVER,)), "file.of-site")
    approved(line, tmp_path, f"send_to: {{kind: folder, folder: '{into}'}}\n", "home")
    refused(line("export", "run", "home", *more, by=(APPROVER,)), "file.of-site")
    assert line.rows("SELECT * FROM delivery WHERE profile IN ('whole', 'home')") == []


def test_the_outbox_and_what_is_in_it_may_be_named(line: Line, tmp_path: Path) -> None:
    approved(line, tmp_path)
    box = line.site / "outbox" / "city"
    box.mkdir(parents=True)
    good(line("export", "run", "whole", "--to", str(box), "--json", by=(APPROVER,)))
    assert any(box.glob("*.csv"))
    (delivery,) = (str(one) for (one,) in planned(line))
    again = ("export", "again", delivery, "--to", str(line.site / "private"))
    refused(line(*again, by=(APPROVER,)), "file.of-site")


class Two(NamedTuple):
    """A delivery that waits for ``away``, and a folder that is there."""

    delivery: str
    away: Path
    there: Path


@pytest.fixture
def two(line: Line, tmp_path: Path) -> Two:
    away, there = tmp_path / "away", tmp_path / "there"
    there.mkdir()
    approved(line, tmp_path, f"send_to: {{kind: folder, folder: '{away}'}}\n")
    first = line("export", "run", "whole", by=(APPROVER,))
    assert first.code == 7
    ((delivery,),) = planned(line)
    return Two(str(delivery), away, there)


def test_what_waits_elsewhere_is_named_with_its_place_and_what_to_do(line: Line, two: Two) -> None:
    for more in ((), ("--dry-run",)):
        answer = line("export", "run", "whole", "--to", str(two.there), *more, by=(APPROVER,))
        assert answer.code == 7, more
        (said,) = answer.err.splitlines()
        assert said.startswith(f"delivery.unreachable: {two.away}: {two.delivery} (")
        assert f"`benchseal export move {two.delivery}` or `benchseal export close {two.delivery}`" in said


def test_what_is_planned_and_does_not_arrive_is_not_said_as_if_it_had(line: Line, tmp_path: Path, two: Two) -> None:
    again = line("export", "run", "whole", by=(APPROVER,))
    assert again.out == f"Nothing new to deliver under whole; {two.delivery} from before waits still.\n"
    approved(line, tmp_path, f"send_to: {{kind: folder, folder: '{two.away}'}}\n", "other")
    first = line("export", "run", "other", by=(APPROVER,))
    ((delivery, rows),) = line.rows("SELECT delivery_id, rows FROM delivery WHERE profile = 'other'")
    assert first.out == f"{delivery}: {rows} results under other: planned, not put down.\n"
    two.away.mkdir()
    then = line("export", "run", "other", by=(APPROVER,))
    assert then.code == 0
    assert then.out.splitlines()[:2] == [
        "Nothing new to deliver under other.",
        f"{delivery} waited from an earlier run: {rows} rows went to {two.away}.",
    ]


def test_a_secret_that_is_missing_says_that_a_delivery_waits(
    line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("BENCHSEAL_SECRET_CITY_WATER", raising=False)
    approved(line, tmp_path, "send_to: {kind: http, url: 'https://127.0.0.1:9/in', secret: city-water}\n")
    answer = line("export", "run", "whole", by=(APPROVER,))
    ((delivery, rows),) = line.rows("SELECT delivery_id, rows FROM delivery WHERE profile = 'whole'")
    assert answer.code == 3
    waits = f"settings.secret-missing: city-water: {delivery} ({rows} rows) waits for https://127.0.0.1:9/in: no secret"
    assert answer.err.startswith(waits)
    assert answer.err.endswith("Then run the export again.\n")
    assert answer.out == f"{delivery}: {rows} results under whole: planned, not put down.\n"
    trial = line("export", "run", "whole", "--dry-run", by=(APPROVER,))
    assert waits in trial.err


def test_what_waited_and_went_where_it_was_planned_for_says_so(line: Line, two: Two) -> None:
    two.away.mkdir()
    trial = line("export", "run", "whole", "--to", str(two.there), "--dry-run", by=(APPROVER,))
    assert trial.code == 0, trial.err
    assert f"{two.delivery} waits (" in trial.out
    answer = line("export", "run", "whole", "--to", str(two.there), by=(APPROVER,))
    assert answer.code == 0, answer.err
    assert f"rows went to {two.away}, not to {two.there}." in answer.out
    assert (any(two.away.glob("*.csv")), [*two.there.iterdir()]) == (True, [])


def test_a_trial_counts_all_that_goes_along_and_compares_it_with_the_room(
    line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    approved(line, tmp_path)
    there = tmp_path / "there"
    there.mkdir()
    words = ("export", "run", "whole", "--to", str(there))
    tried = good(line(*words, "--dry-run", "--json", by=(APPROVER,)))
    assert f"{tried['results']} results in {tried['rows']} rows" in line(*words, "--dry-run", by=(APPROVER,)).out
    with monkeypatch.context() as tight:
        room = shutil.disk_usage(there)._replace(free=tried["bytes"] - 1)
        tight.setattr("benchseal.desk.destinations.shutil.disk_usage", lambda _: room)
        refused(line(*words, "--dry-run", by=(APPROVER,)), "delivery.disk-full")
    with monkeypatch.context() as only_read:
        only_read.setattr("benchseal.desk.destinations._is_read_only", lambda _: True)
        refused(line(*words, "--dry-run", by=(APPROVER,)), "delivery.read-only")
    good(line(*words, "--json", by=(APPROVER,)))
    put_down = sum(path.stat().st_size for path in there.iterdir())
    assert put_down > 10_000  # certificates go along
    assert put_down - 1_000 < tried["bytes"] < put_down + 5_000  # the signature is not made for a trial


def test_certificates_in_force_go_along_and_of_a_withdrawn_one_its_notice(line: Line, tmp_path: Path) -> None:
    approved(line, tmp_path)
    first = str(line.rows("SELECT min(number) FROM certificate WHERE state = 'released'")[0][0])
    good(line("certificate", "withdraw", first, "--reason", "of another lot", "--json", by=(APPROVER,)))
    there = tmp_path / "there"
    there.mkdir()
    good(line("export", "run", "whole", "--to", str(there), "--json", by=(APPROVER,)))
    copies = {path.stem for path in there.glob("*.pdf")}
    in_force = {str(one) for (one,) in line.rows("SELECT number FROM certificate WHERE state = 'released'")}
    assert first not in copies
    assert f"{first}-W" in copies
    assert copies <= in_force | {f"{first}-W"}
    notice = line.site / "certificates" / f"{first}-W.pdf"
    assert (there / notice.name).read_bytes() == notice.read_bytes()
    (manifest,) = there.glob("*.manifest.json")
    assert notice.name in {one["name"] for one in json.loads(manifest.read_bytes())["files"]}


def test_a_case_that_is_refused_names_its_column_and_no_more(line: Line, tmp_path: Path) -> None:
    text = PROFILE.replace("field: value_text}", "field: value_text, max_length: 3}")
    (tmp_path / "narrow.yaml").write_text(text, encoding="utf-8")
    cases = good(line("export", "check", str(tmp_path / "narrow.yaml"), "--json", by=(ANALYST,)))["cases"]
    whys = [case["why"] for case in cases if case["why"]]
    assert any(why.startswith("export.too-long: column text: the cell has ") for why in whys)
    assert not any(") " in why.partition(": ")[2][:20] for why in whys)
    wide = starter("profiles/samples-wide.yaml")
    (tmp_path / "wide.yaml").write_text(wide, encoding="utf-8")
    cases = good(line("export", "check", str(tmp_path / "wide.yaml"), "--json", by=(ANALYST,)))["cases"]
    (why,) = (case["why"] for case in cases if case["case"] == "a result no column is of")
    assert why.startswith("export.result-without-column: ")
    assert not why.startswith("export.result-without-column: result ")


def test_a_choice_nobody_fits_is_remarked(line: Line, tmp_path: Path) -> None:
    customer = str(line.rows("SELECT min(customer) FROM customer")[0][0])
    method = str(line.rows("SELECT min(id) FROM document WHERE kind = 'method'")[0][0])
    chosen = f"choose: {{customers: [nobody, {customer}], methods: [nothing, {method}]}}\n"
    (tmp_path / "chosen.yaml").write_text(PROFILE + chosen, encoding="utf-8")
    cases = good(line("export", "check", str(tmp_path / "chosen.yaml"), "--json", by=(ANALYST,)))["cases"]
    remarks = [case["why"] for case in cases if case["outcome"] == "remark"]
    assert remarks == [
        "no customer nobody is registered: nothing of theirs would go.",
        "no method nothing is there: nothing measured by it would go.",
    ]


def test_an_empty_mount_point_is_not_taken_for_the_share(line: Line, tmp_path: Path) -> None:
    share = tmp_path / "share"
    share.mkdir()  # the mount point, with nothing mounted on it
    place = f"send_to: {{kind: folder, folder: '{share}', marker: inbox-of-city-water.txt}}\n"
    approved(line, tmp_path, place)
    for more in (("--dry-run",), (), ("--to", str(share))):
        answer = line("export", "run", "whole", *more, by=(APPROVER,))
        assert (answer.code, [*share.iterdir()]) == (7, [])
        assert "delivery.unreachable" in answer.err
        assert "inbox-of-city-water.txt is not in it" in answer.err
    (share / "inbox-of-city-water.txt").mkdir()  # no file
    assert line("export", "run", "whole", by=(APPROVER,)).code == 7
    (share / "inbox-of-city-water.txt").rmdir()
    (share / "inbox-of-city-water.txt").write_text("", encoding="ascii")
    assert line("export", "run", "whole", "--dry-run", by=(APPROVER,)).code == 0
    good(line("export", "run", "whole", "--json", by=(APPROVER,)))
    assert any(share.glob("*.csv"))
    ((delivery,),) = planned(line)
    (share / "inbox-of-city-water.txt").unlink()
    for more in ((), ("--to", str(share))):
        assert line("export", "again", str(delivery), *more, by=(APPROVER,)).code == 7


def test_a_marker_that_a_later_version_leaves_out_is_not_asked_for(line: Line, tmp_path: Path) -> None:
    share = tmp_path / "share"
    share.mkdir()
    approved(line, tmp_path, f"send_to: {{kind: folder, folder: '{share}', marker: inbox.txt}}\n")
    assert line("export", "run", "whole", by=(APPROVER,)).code == 7
    approved(line, tmp_path, f"send_to: {{kind: folder, folder: '{share}'}}\n")
    assert line("export", "run", "whole", "--dry-run", by=(APPROVER,)).code == 0
    good(line("export", "run", "whole", "--json", by=(APPROVER,)))
    assert any(share.glob("*.csv"))


def test_a_trial_says_of_a_share_without_a_marker_what_that_means(
    line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    share = tmp_path / "share"
    share.mkdir()
    monkeypatch.setattr("benchseal.desk.destinations.network_file_system", lambda _: "nfs4")
    approved(line, tmp_path, f"send_to: {{kind: folder, folder: '{share}'}}\n")
    assert "the profile names no marker file" in line("export", "run", "whole", "--dry-run", by=(APPROVER,)).out
    (share / "inbox.txt").write_text("", encoding="ascii")
    approved(line, tmp_path, f"send_to: {{kind: folder, folder: '{share}', marker: inbox.txt}}\n")
    assert "marker" not in line("export", "run", "whole", "--dry-run", by=(APPROVER,)).out


def test_bytes_altered_after_they_were_planned_go_nowhere(line: Line, two: Two) -> None:
    """Each file put down is the one whose digest the plan holds, or nothing is put down."""
    sha256 = dict(line.rows("SELECT delivery_id, json_extract(files, '$[0][1]') FROM delivery"))[two.delivery]
    store = sqlite3.connect(line.site / "store.sqlite", isolation_level=None)
    ((trigger,),) = store.execute("SELECT sql FROM sqlite_master WHERE name = 'objects_no_update'")
    ((body,),) = store.execute("SELECT body FROM objects WHERE sha256 = ?", (sha256,))
    data = bytearray(zlib.decompress(body))
    data[-3] ^= 1
    store.execute("DROP TRIGGER objects_no_update")
    store.execute("UPDATE objects SET body = ? WHERE sha256 = ?", (zlib.compress(bytes(data)), sha256))
    store.execute(trigger)
    store.close()
    two.away.mkdir()
    for words in (("run", "whole"), ("run", "whole", "--dry-run"), ("again", two.delivery),
                  ("again", two.delivery, "--to", str(two.there))):  # fmt: skip
        answer = line("export", *words, by=(APPROVER,))
        assert (answer.code, "integrity.object: " in answer.err) == (6, True), words
    assert [*two.away.iterdir(), *two.there.iterdir()] == []
    assert [row[0] for row in line.rows("SELECT state FROM delivery WHERE profile = 'whole'")] == ["planned"]


def test_a_row_that_names_other_files_than_the_plan_puts_nothing_down(line: Line, two: Two) -> None:
    store = sqlite3.connect(line.site / "store.sqlite", isolation_level=None)
    ((other,),) = store.execute("SELECT min(sealed) FROM certificate WHERE sealed <> ''")
    store.execute(
        "UPDATE delivery SET files = json_replace(files, '$[0][1]', ?) WHERE delivery_id = ?", (other, two.delivery)
    )
    store.close()
    two.away.mkdir()
    for words in (("run", "whole"), ("again", two.delivery, "--to", str(two.there))):
        answer = line("export", *words, by=(APPROVER,))
        assert (answer.code, "integrity.derived-row: " in answer.err) == (6, True), words
    assert [*two.away.iterdir(), *two.there.iterdir()] == []
