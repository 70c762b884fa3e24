"""Eight at once: one wins, the others are told by whom, nobody waits for a lock in vain."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from tests.attacks.stops import findings, kinds, password
from tests.conftest import cheap_hashes
from tests.journeys.commands import ANALYST, REVIEWER

from benchseal.desk.acts_certificates import DraftCertificate
from benchseal.desk.acts_runs import AcceptRuns, IngestFile, SubmitRuns
from benchseal.desk.admission import Password
from benchseal.desk.perform import perform
from benchseal.desk.site import open_site

if TYPE_CHECKING:
    from benchseal.demo.play import Played

RACERS = 8
LONGEST_S = 60.0  # the queue's own limit: whoever waits that long was not served

# Loads everything once, forks a racer for each act, and starts them together when the pipe to them closes.
RACE = """
import json, os, sys, time
from pathlib import Path
from tests.attacks.test_races import attempt
site, acts = Path(sys.argv[1]), json.loads(sys.argv[2])
attempt(site, acts[0])  # loads what an act needs
waiting, start = os.pipe()
ready, report = os.pipe()
answers = []
for act in acts:
    reading, writing = os.pipe()
    answers.append(reading)
    if os.fork() == 0:
        os.close(start)
        race = attempt(site, act)
        os.write(report, b"r")
        os.read(waiting, 1)
        began = time.monotonic()
        said = race()
        os.write(writing, json.dumps([said, time.monotonic() - began]).encode())
        os._exit(0)
    os.close(writing)
for _ in acts:
    os.read(ready, 1)
os.close(start)
print(json.dumps([json.loads(os.read(answer, 65536)) for answer in answers]))
"""


class Ran(NamedTuple):
    """What a racer was told, and how long it took."""

    code: str
    words: str
    seconds: float


def attempt(site: Path, act: dict[str, Any]) -> Any:  # noqa: ANN401  a function to call at the start
    """One act by one person, everything ready but the act itself."""
    from benchseal.problems import Stopped  # noqa: PLC0415

    opened = open_site(site, hashes=cheap_hashes)
    made: dict[str, object] = {
        "sign": SubmitRuns(tuple(act.get("runs", ()))),
        "review": AcceptRuns(tuple(act.get("runs", ()))),
        "ingest": IngestFile((site / "inbox" / "flame-ware.txt").read_bytes(), "flame-ware.txt", "", ()),
        "draft": DraftCertificate("B-2", ""),
    }
    key = Password(act["by"], password(site, act["by"]))

    def race() -> tuple[str, str]:
        try:
            done = perform(opened, made[act["name"]], key)
        except Stopped as stop:
            return stop.notices[0].code, str(stop)
        return "", " ".join(done.said)

    return race


def raced(site: Path, acts: list[dict[str, Any]]) -> list[Ran]:
    """All of them at once, each in a process of its own."""
    done = subprocess.run(  # noqa: S603  the program of this test
        [sys.executable, "-c", RACE, str(site), json.dumps(acts)],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return [Ran(code, words, seconds) for (code, words), seconds in json.loads(done.stdout)]


@pytest.fixture
def site(played: Played, tmp_path: Path) -> Path:
    shutil.copytree(played.site.folder, tmp_path / "site")
    return tmp_path / "site"


def brought_in(site: Path) -> list[str]:
    opened = open_site(site, hashes=cheap_hashes)
    data = (site / "inbox" / "flame-ware.txt").read_bytes()
    done = perform(opened, IngestFile(data, "flame-ware.txt", "", ()), Password(ANALYST, password(site, ANALYST)))
    opened.store.close()
    return [str(run) for run in done.data["runs"]]  # type: ignore[union-attr]  # a list


def require_one_winner(ran: list[Ran], code: str) -> list[Ran]:
    """The losers, who were told at once."""
    assert sorted(each.code for each in ran) == ["", *[code] * (len(ran) - 1)], ran
    assert max(each.seconds for each in ran) < LONGEST_S
    return [each for each in ran if each.code]


@pytest.mark.refuses("P11 11.10(f)", "PI041 complete")
@pytest.mark.parametrize(
    ("name", "by", "code", "new"),
    [
        pytest.param("ingest", ANALYST, "ingest.already", ["run.ingested"] * 2, id="bring in one file"),
        pytest.param("sign", ANALYST, "run.wrong-state", ["run.submitted"] * 2, id="sign the same runs"),
        pytest.param("review", REVIEWER, "run.wrong-state", ["run.reviewed"] * 2, id="accept the same runs"),
        pytest.param("draft", ANALYST, "certificate.already", ["certificate.drafted"], id="draft for one lot"),
    ],
)
def test_eight_at_once_and_one_wins(site: Path, name: str, by: str, code: str, new: list[str]) -> None:
    act: dict[str, Any] = {"name": name, "by": by}
    if name in {"sign", "review"}:
        act["runs"] = brought_in(site)
    if name == "review":
        assert raced(site, [{**act, "name": "sign", "by": ANALYST}])[0].code == ""
    before = kinds(site)
    losers = require_one_winner(raced(site, [act] * RACERS), code)
    assert kinds(site)[len(before) :] == new
    assert all(by in each.words for each in losers), losers[0].words
    assert findings(site) == ()
