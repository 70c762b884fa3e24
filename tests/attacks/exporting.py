"""Exporters that are killed between any two steps of a delivery, alone and two at once, and what the receiver holds.

A process of its own, forking one child for each export (fork_server.py does the same for commands):

    python -m tests.attacks.exporting SITE RECEIVER DELIVERIES

It kills with SIGKILL, so nothing is tidied up, and looks at the receiver's folder after every kill. Deliveries are
made small (one released certificate each), so that a few documents give thousands.
"""

from __future__ import annotations

import csv
import gc
import json
import os
import signal
import sqlite3
import sys
import traceback
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.attacks.fork_server import warm
from tests.attacks.stops import password
from tests.conftest import cheap_hashes
from tests.journeys.commands import ANALYST, APPROVER

from benchseal.desk import checkpoints, deliveries, delivery_plan
from benchseal.desk.acts_deliveries import PlanDelivery
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.admission import Password
from benchseal.desk.checking import verify_site
from benchseal.desk.drop import FileOperations, drop
from benchseal.desk.perform import perform
from benchseal.desk.site import open_site
from benchseal.desk.undelivered import undelivered
from benchseal.records.canonical import digest
from benchseal.records.entries import read_entry
from benchseal.shipped import starter
from benchseal.store.sqlite import SqliteWriting

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.desk.site import Site
    from benchseal.records.entries import Entry

TWO_AT_ONCE_EVERY = 4
MOST_STEPS = 128  # of one export: three deliveries of four files
DONE = "SELECT count(*) FROM delivered JOIN delivery USING (delivery_id) WHERE delivered.profile = ? AND state = 'done'"
SEALED_EVERY = 6  # of the profiles, which sign their manifests: that takes the time of a signature


class Dying:
    """Takes note of steps and kills its own process before the ``stop_at``-th; 0 for never."""

    def __init__(self, stop_at: int, report: int) -> None:
        self.stop_at, self.report = stop_at, report
        self.steps: list[str] = []

    def step(self, name: str) -> None:
        """One boundary between two things that are done."""
        self.steps.append(name)
        if len(self.steps) == self.stop_at:
            os.write(self.report, json.dumps([name]).encode())
            os.kill(os.getpid(), signal.SIGKILL)

    def before(self, name: str, done: Callable[..., Any]) -> Callable[..., Any]:
        """``done`` with a boundary before it."""

        def stepped(*given: Any, **named: Any) -> Any:  # noqa: ANN401  whatever ``done`` takes and gives
            self.step(name)
            return done(*given, **named)

        return stepped


class DyingOperations(FileOperations):
    """Each step of putting files down. Half of the bytes are written before one boundary, and the link before one."""

    def __init__(self, dying: Dying) -> None:
        self.dying = dying

    def read(self, path: Path) -> bytes | None:
        self.dying.step("read")
        return super().read(path)

    def write(self, path: Path, data: bytes) -> None:
        self.dying.step("write")
        if len(self.dying.steps) + 1 == self.dying.stop_at:
            path.write_bytes(data[: len(data) // 2])
        self.dying.step("write half")
        super().write(path, data)

    def publish(self, part: Path, final: Path) -> None:
        self.dying.step(f"publish {kind_of(final.name)}")
        super().publish(part, final)

    def sync_folder(self, folder: Path) -> None:
        self.dying.step("sync folder")
        super().sync_folder(folder)

    def remove(self, path: Path) -> None:
        self.dying.step("remove part")  # between the link and this both names are there
        super().remove(path)

    def parts(self, final: Path) -> list[Path]:
        self.dying.step("look for parts")
        return super().parts(final)


def kind_of(name: str) -> str:
    """Which file of a delivery it is."""
    ends = {".manifest.json": "manifest", ".manifest.sig": "signature", ".done": "done", ".csv": "data"}
    return next((kind for end, kind in ends.items() if name.endswith(end)), "beside")


def export(site: Site, profile: str, to: Path, dying: Dying) -> None:
    """One ``export run``: plan what is new, a delivery for each certificate, then finish everything planned."""
    replaced: tuple[tuple[object, str, object], ...] = (
        (delivery_plan, "undelivered", partial(undelivered, most=1)),
        (SqliteWriting, "keep", dying.before("keep", SqliteWriting.keep)),
        (SqliteWriting, "append", dying.before("append", SqliteWriting.append)),
        (deliveries, "drop", partial(drop, operations=DyingOperations(dying))),
        (checkpoints, "make", dying.before("checkpoint", checkpoints.make)),
    )
    for room, name, done in replaced:
        setattr(room, name, done)
    given = Password(APPROVER, password(site.folder, APPROVER))
    while perform(site, PlanDelivery(profile, str(to)), given).data["delivery"]:
        dying.step("planned")
    for delivery in deliveries.planned(site, profile):
        deliveries.finish(site, delivery)
        dying.step("finished")


@dataclass(frozen=True)
class Exporter:
    """A child process that exports."""

    pid: int
    report: int

    @classmethod
    def start(cls, site: Path, profile: str, to: Path, stop_at: int) -> Exporter:
        """It dies before its ``stop_at``-th step."""
        reading, writing = os.pipe()
        pid = os.fork()
        if pid:
            os.close(writing)
            return cls(pid, reading)
        code = 99
        try:
            dying = Dying(stop_at, writing)
            export(open_site(site, hashes=cheap_hashes), profile, to, dying)
            os.write(writing, json.dumps(dying.steps).encode())
            code = 0
        finally:
            if code:
                traceback.print_exc()
                sys.stderr.flush()
            os._exit(code)

    def ended(self) -> tuple[bool, list[str]]:
        """Whether it was killed; the step it died before, or all it took."""
        with os.fdopen(self.report, "rb") as said:
            steps = json.loads(said.read() or b"[]")
        code = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        assert code in {0, -signal.SIGKILL}, code
        return code != 0, steps


@dataclass
class Receiver:
    """The folder of another system. seen: SHA-256 of every file that ever had a final name."""

    folder: Path
    seen: dict[str, str] = field(default_factory=dict)

    def look(self) -> None:
        """Nothing half, changed or gone under a final name; a delivery's files come in their order."""
        there = {path.name: digest(path.read_bytes()) for path in self.folder.iterdir() if path.suffix != ".part"}
        assert {name: there.get(name) for name in self.seen} == self.seen, "a file changed or is gone"
        self.seen = there
        for name in there:
            stem = name.removesuffix(".done")
            assert stem == name or f"{stem}.manifest.json" in there, f"{name} came before the manifest"
        self.manifests()

    def manifests(self) -> list[dict[str, Any]]:
        """All of them; what each lists is there, with its SHA-256."""
        found = [json.loads((self.folder / name).read_bytes()) for name in self.seen if name.endswith(".manifest.json")]
        for stated in found:
            for file in stated["files"]:
                assert self.seen.get(file["name"]) == file["sha256"], f"{file['name']} is not what its manifest says"
        return found

    def rows(self, stated: dict[str, Any]) -> list[tuple[str, int]]:
        """Which revisions a delivery holds, as its data file says."""
        with (self.folder / stated["files"][0]["name"]).open(encoding="utf-8", newline="") as file:
            found = [(row["result_id"], int(row["revision"])) for row in csv.DictReader(file)]
        assert len(found) == stated["files"][0]["rows"]
        return found


def profiles(site: Path) -> Iterator[str]:
    """Ever new profiles in force, each with everything to deliver."""
    text = starter("profiles/comma-utf8.yaml")
    number = 0
    while True:
        number += 1
        name = f"p-{number:05d}"
        beside = "[certificates, csvw, signature]" if number % SEALED_EVERY == 1 else "[csvw]"
        words = text.replace("id: comma-utf8", f"id: {name}")
        opened = open_site(site, hashes=cheap_hashes)
        data = f"{words}\ndone_file: true\nbeside: {beside}\n".encode()
        perform(opened, AddDocument(data, f"{name}.yaml"), Password(ANALYST, password(site, ANALYST)))
        perform(opened, ApproveDocument(name), Password(APPROVER, password(site, APPROVER)))
        opened.store.close()
        yield name


def campaign(site: Path, folder: Path, wanted: int) -> dict[str, Any]:
    """Exports under one new profile after the other, killed at every step in turn, until ``wanted`` are delivered."""
    counts: Counter[str] = Counter()
    died: Counter[str] = Counter()
    taken: set[str] = set()
    stops = turns()
    receivers: dict[str, Receiver] = {}
    for profile in profiles(site):
        receiver = receivers[profile] = Receiver(folder / profile)
        receiver.folder.mkdir()
        while left(site, profile):
            at_once = next(stops)
            started = [Exporter.start(site, profile, receiver.folder, stop) for stop in at_once]
            for killed, steps in [exporter.ended() for exporter in started]:
                counts["killed"] += killed
                died.update(steps * killed)
                taken |= {*steps}
            counts["two at once"] += len(at_once) > 1
            receiver.look()
        counts["deliveries"] += len(receiver.manifests())
        if counts["deliveries"] >= wanted * (1 if taken <= {*died} else 2):  # a step nobody died before yet has time
            break
    require_exactly_once(site, receivers)
    return {**counts, "died before": died, "never died before": sorted(taken - {*died})}


def turns() -> Iterator[tuple[int, ...]]:
    """Before which step each exporter of a round dies: every one in turn; in every so many-th round there are two.

    Of two the other lives, or dies elsewhere: what it takes over then is taken over again.
    """
    for number in count():
        stop = number * 29 % MOST_STEPS + 1
        if number % TWO_AT_ONCE_EVERY:
            yield (stop,)
        else:
            yield (stop, number * 45 % MOST_STEPS + 1 if number % 8 else 0)


def left(site: Path, profile: str) -> int:
    """How many released revisions are not known to have come to the receiver under ``profile``."""
    with closing(sqlite3.connect(site / "store.sqlite")) as store:
        (done,) = store.execute(DONE, (profile,)).fetchone()
        (released,) = store.execute("SELECT count(*) FROM released").fetchone()
    return int(released - done)


def require_exactly_once(site: Path, receivers: dict[str, Receiver]) -> None:
    """Ledger, manifests and files say the same; under each profile every row came once and none is missing."""
    opened = open_site(site, hashes=cheap_hashes)
    with opened.store.reading() as view:
        entries = [read_entry(row[1]) for row in view.entries()]
        released = {(str(row["result_id"]), int(row["revision"])) for row in view.rows("released")}
    done = Counter(entry.subject for entry in entries if entry.kind == "delivery.done")
    planned = {entry.subject: entry for entry in entries if entry.kind == "delivery.planned"}
    assert done == Counter([*planned])
    for profile, receiver in receivers.items():
        ours = {subject: entry for subject, entry in planned.items() if entry.facts["profile"] == profile}
        require_as_on_record(receiver, ours)
        came = [row for stated in receiver.manifests() for row in receiver.rows(stated)]
        assert len(came) == len({*came}), f"a row came twice under {profile}"
        assert {*came} == released, f"a row is missing under {profile}"
        assert sorted(one["number"] for one in receiver.manifests()) == list(range(1, len(ours) + 1))
    assert verify_site(opened).findings == ()
    opened.store.close()


def require_as_on_record(receiver: Receiver, planned: dict[str, Entry]) -> None:
    """Exactly the files of these deliveries are there, nothing else, with the SHA-256 that the ledger has."""
    expected: dict[str, str] = {}
    for entry in planned.values():
        files: Any = entry.facts["files"]
        expected |= {name: entry.digests[label] for name, label in files}
        expected[f"{str(entry.facts['file']).rpartition('.')[0]}.done"] = digest(b"")
    assert receiver.seen == expected
    there = {path.name for path in receiver.folder.iterdir()}
    parts = {name for name in there if name.endswith(".part")}
    assert there - parts == {*expected}
    whole = {name.rpartition(".part")[0].rpartition(".")[0] for name in parts}
    assert whole <= {*expected}, "a part is left of a file that does not stand whole"  # of one that died behind another
    assert {stated["delivery_id"] for stated in receiver.manifests()} == {
        subject.removeprefix("delivery/") for subject in planned
    }


if __name__ == "__main__":
    warm()
    gc.disable()  # children live for a moment
    print(json.dumps(campaign(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]))))  # noqa: T201  the answer
