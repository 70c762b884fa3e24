"""Deliveries that go to a server by themselves: by commands, to a real HTTP server on loopback."""

from __future__ import annotations

import json
import threading
from http.server import ThreadingHTTPServer
from typing import TYPE_CHECKING

import pytest
from tests.carriers.test_http import Handler, Shelf
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_beside import PROFILE
from tests.journeys.test_corrections import good, refused, whole

from benchseal.carriers import carrier

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from tests.journeys.commands import Line

SECRET = "BENCHSEAL_SECRET_CITY_WATER"


@pytest.fixture
def shelf(monkeypatch: pytest.MonkeyPatch) -> Shelf:
    monkeypatch.setattr(carrier.Patience, "__init__", _hasty)
    Handler.shelf = Shelf()
    return Handler.shelf


def _hasty(self: carrier.Patience) -> None:
    object.__setattr__(self, "pauses_s", (0.0,))
    object.__setattr__(self, "sleep", lambda _: None)
    object.__setattr__(self, "draw", lambda: 0.5)
    object.__setattr__(self, "within_s", 120.0)
    object.__setattr__(self, "clock", lambda: 0.0)


@pytest.fixture
def address(shelf: Shelf) -> Iterator[str]:  # noqa: ARG001  the server's shelf is there first
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_address[1]}/in"
    server.shutdown()
    server.server_close()
    thread.join(20)


@pytest.fixture
def ready(line: Line, tmp_path: Path, address: str) -> Line:
    """A profile in force that sends to the server."""
    text = f"{PROFILE}send_to: {{kind: http, url: '{address}', secret: city-water}}\n"
    (tmp_path / "whole.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    return line


def state(line: Line) -> str:
    return str(line.rows("SELECT state FROM delivery WHERE profile = 'whole'")[0][0])


def test_a_delivery_goes_to_its_server_once(
    ready: Line, shelf: Shelf, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SECRET, "right secret")
    said = good(ready("export", "run", "whole", "--json", by=(APPROVER,)))
    (done,) = said["deliveries"]
    assert done["file"].startswith(f"{address}/whole_")
    assert [name.rpartition("/")[2] for name in shelf.held] == done["placed"]
    assert list(shelf.held)[-1].endswith(".done")
    assert state(ready) == "done"
    (listed,) = [
        row for row in good(ready("export", "list", "--json", by=(ANALYST,)))["deliveries"] if row["profile"] == "whole"
    ]
    assert listed["destination"] == address
    before = dict(shelf.held)
    assert good(ready("export", "run", "whole", "--json", by=(APPROVER,)))["deliveries"] == []
    again = good(ready("export", "again", done["delivery"], "--json", by=(APPROVER,)))
    assert (again["placed"], dict(shelf.held)) == ([], before)
    assert "right secret" not in json.dumps([said, again])
    assert whole(ready)


def test_a_server_that_is_away_gets_the_same_bytes_later(
    ready: Line, shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SECRET, "right secret")
    shelf.answers = [503, 503]
    away = ready("export", "run", "whole", by=(APPROVER,))
    assert (away.code, state(ready)) == (7, "planned")
    assert "delivery.unreachable" in away.err
    done = good(ready("export", "run", "whole", "--json", by=(APPROVER,)))
    assert (done["new_rows"], len(done["deliveries"]), state(ready)) == (0, 1, "done")
    assert len({name for name in shelf.held if name.endswith(".csv")}) == 1


def test_without_its_secret_nothing_is_sent_and_the_plan_stays(
    ready: Line, shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(SECRET, raising=False)
    stopped = ready("export", "run", "whole", by=(APPROVER,))
    assert (stopped.code, shelf.held) == (3, {})
    assert f"Set {SECRET}" in stopped.err
    monkeypatch.setenv(SECRET, "wrong secret")
    refused(ready("export", "run", "whole", by=(APPROVER,)), "delivery.not-permitted")
    monkeypatch.setenv(SECRET, "right secret")
    assert len(good(ready("export", "run", "whole", "--json", by=(APPROVER,)))["deliveries"]) == 1


def test_a_dry_run_looks_and_leaves_nothing(
    ready: Line, shelf: Shelf, address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SECRET, "right secret")
    before = ready.rows("SELECT count(*) FROM delivery")
    said = good(ready("export", "run", "whole", "--dry-run", "--json", by=(APPROVER,)))
    assert said["rows"] > 0
    assert said["destination"] == address
    assert (shelf.held, ready.rows("SELECT count(*) FROM delivery")) == ({}, before)
    away = ready("export", "run", "whole", "--dry-run", "--to", str(tmp_path / "none"), by=(APPROVER,))
    assert (away.code, "delivery.unreachable" in away.err) == (7, True)
    (tmp_path / "there").mkdir()
    good(ready("export", "run", "whole", "--dry-run", "--to", str(tmp_path / "there"), "--json", by=(APPROVER,)))
    assert list((tmp_path / "there").iterdir()) == []


def test_a_folder_can_be_given_instead(ready: Line, shelf: Shelf, tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    good(ready("export", "run", "whole", "--to", str(tmp_path / "there"), "--json", by=(APPROVER,)))
    assert any(path.name.endswith(".csv") for path in (tmp_path / "there").iterdir())
    assert shelf.held == {}


def test_what_waits_goes_by_the_words_that_are_in_force_now(
    ready: Line, shelf: Shelf, address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SECRET, "right secret")
    shelf.reads = [405] * 99
    waits = ready("export", "run", "whole", by=(APPROVER,))
    assert (waits.code, state(ready)) == (10, "planned")
    assert "read_back: false" in waits.err
    shelf.held.clear()
    text = f"{PROFILE}send_to: {{kind: http, url: '{address}', secret: city-water, read_back: false}}\n"
    (tmp_path / "whole.yaml").write_text(text, encoding="utf-8")
    good(ready("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(ready("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    good(ready("export", "run", "whole", "--json", by=(APPROVER,)))
    assert (state(ready), len(shelf.reads)) == ("done", 98)
