"""``--log`` of deliveries and of a watch, and ``status --prometheus``: files that other programs read."""

from __future__ import annotations

import json
import os
import re
import stat
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER
from tests.journeys.test_beside import PROFILE
from tests.journeys.test_corrections import good
from tests.upkeep.test_metrics import read

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.journeys.commands import Line

PAGE = Path(__file__).parents[2] / "docs" / "manual" / "schedules.md"
COMMON = {"schema", "at", "event", "process", "program"}


@pytest.fixture
def ready(line: Line, tmp_path: Path) -> Line:
    """A profile in force under which nothing was delivered yet."""
    (tmp_path / "whole.yaml").write_text(PROFILE, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    return line


def told() -> dict[str, set[str]]:
    """Events of the manual's table and their own words."""
    rows = re.findall(r"^\| `((?:export|watch)\.[a-z]+)` \|[^|]*\|([^|]*)\|$", PAGE.read_text("utf-8"), re.MULTILINE)
    return {event: set(re.findall(r"`([a-z]+)`", words)) for event, words in rows}


def events(path: Path) -> list[dict[str, Any]]:
    """Each line of a log: one JSON object, of the manual's names and no others."""
    found = [json.loads(line) for line in path.read_bytes().decode("ascii").splitlines()]
    known = told()
    for one in found:
        assert one["schema"] == "log-line/1"
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", one["at"])
        assert set(one) - COMMON == known[one["event"]], one
    return found


def named(path: Path) -> list[str]:
    return [one["event"] for one in events(path)]


def test_a_delivery_and_one_with_nothing_new(ready: Line, tmp_path: Path) -> None:
    log, place = tmp_path / "export.jsonl", tmp_path / "outgoing"
    place.mkdir()
    words = ("export", "run", "whole", "--to", str(place), "--log", str(log))
    tried = ready(*words, "--dry-run", by=(APPROVER,))
    assert tried.code == 0, tried.err
    done = ready(*words, "--json", by=(APPROVER,)).json
    (delivery,) = done["deliveries"]
    assert ready(*words, by=(APPROVER,)).code == 0
    found = events(log)
    assert [one["event"] for one in found] == [
        *("export.begun", "export.tried", "export.ended"),
        *("export.begun", "export.planned", "export.delivered", "export.ended"),
        *("export.begun", "export.ended"),
    ]
    assert found[0]["profile"] == "whole"
    assert found[4]["delivery"] == found[5]["delivery"] == delivery["delivery"]
    assert found[4]["rows"] == found[5]["rows"] == done["new_rows"] > 0
    assert [one["exit"] for one in found if one["event"] == "export.ended"] == [0, 0, 0]


def test_a_place_that_is_away_and_comes_back(ready: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log, place = tmp_path / "export.jsonl", tmp_path / "share"
    words = ("export", "run", "whole", "--to", str(place), "--log", str(log))
    with monkeypatch.context() as gone:  # the share goes away just after it was looked at
        gone.setattr("benchseal.cli.exports.require_folder", lambda _: None)
        away = ready(*words, by=(APPROVER,))
    assert away.code == 7, away.err
    *_, failed, ended = events(log)
    assert (failed["event"], failed["codes"], ended["exit"]) == ("export.failed", ["delivery.unreachable"], 7)
    place.mkdir()
    assert ready(*words, by=(APPROVER,)).code == 0
    assert named(log)[-3:] == ["export.begun", "export.delivered", "export.ended"]


def test_nothing_secret_and_no_words_of_a_problem(line: Line, tmp_path: Path) -> None:
    log = tmp_path / "export.jsonl"
    refused = line("export", "run", "no-such-profile", "--log", str(log), by=(APPROVER,))
    assert refused.code != 0
    begun, problem, ended = events(log)
    assert refused.err.startswith(f"{problem['code']}: ")
    assert (begun["event"], problem["event"], ended["exit"]) == ("export.begun", "export.problem", refused.code)
    for secret in line.secrets(APPROVER):
        if secret != APPROVER.removeprefix("p-"):
            assert secret not in log.read_text("ascii")
    assert refused.err.split(": ", 2)[2][:20] not in log.read_text("ascii")


def test_whoever_may_not_is_in_the_log(line: Line, tmp_path: Path) -> None:
    log = tmp_path / "export.jsonl"
    assert line("export", "run", "whole", "--log", str(log), by=(REVIEWER,)).code == 5
    _, problem, ended = events(log)
    assert (problem["code"], problem["kind"], ended["exit"]) == ("act.role", "refusal", 5)


def test_a_line_that_was_cut_short_spoils_no_other(line: Line, tmp_path: Path) -> None:
    log = tmp_path / "export.jsonl"
    log.write_bytes(b'{"schema": "log-li')
    assert line("export", "run", "whole", "--log", str(log), by=(REVIEWER,)).code == 5
    cut, *whole = log.read_bytes().splitlines()
    assert cut == b'{"schema": "log-li'
    assert [json.loads(one)["event"] for one in whole] == ["export.begun", "export.problem", "export.ended"]


def _full(tmp_path: Path) -> Path:
    """A device that is always full, behind no link."""
    return Path("/dev/full") if sys.platform == "linux" else tmp_path / "none" / "log"


def _pipe(tmp_path: Path) -> Path:
    os.mkfifo(tmp_path / "pipe")
    return tmp_path / "pipe"


def _link(tmp_path: Path) -> Path:
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    return tmp_path / "link"


@pytest.mark.parametrize(
    "where",
    [
        pytest.param(lambda tmp_path: tmp_path / "none" / "log", id="no such folder"),
        pytest.param(lambda tmp_path: tmp_path, id="a folder"),
        pytest.param(_full, id="no file"),
        pytest.param(_pipe, id="a pipe nobody reads"),
        pytest.param(_link, id="a link"),
    ],
)
def test_a_log_that_cannot_be_written_stops_no_delivery(
    ready: Line, tmp_path: Path, where: Callable[[Path], Path]
) -> None:
    place = tmp_path / "outgoing"
    place.mkdir()
    log = str(where(tmp_path))
    done = ready("export", "run", "whole", "--to", str(place), "--log", log, "--json", by=(APPROVER,))
    assert done.code == 0
    assert len(done.json["deliveries"]) == 1
    assert len(list(place.iterdir())) >= 2
    assert done.err.startswith(f"log.not-written: {log}: ")
    assert done.err.count("\n") == 1, "said once"
    assert not (tmp_path / "elsewhere").exists()


WRITES = pytest.mark.parametrize("words", [("export", "run", "whole", "--log"), ("status", "--prometheus")])


@WRITES
def test_a_site_s_own_file_is_never_written_to(line: Line, words: tuple[str, ...]) -> None:
    sealed = min((line.site / "certificates").glob("*.pdf"))
    (line.site / "outbox").mkdir(exist_ok=True)
    delivered = line.site / "outbox" / "x.csv"
    delivered.write_bytes(b"")
    for path in (*map(line.site.joinpath, ("store.sqlite", "benchseal.toml", "trust.json", "private/unlock")),
                 sealed, delivered, line.site / "certificates" / "new.pdf", line.site / "new"):  # fmt: skip
        before = path.read_bytes() if path.exists() else None
        answer = line(*words, str(path), by=(APPROVER,))
        assert (answer.code, "file.of-site: " in answer.err) == (4, True), path
        assert (path.read_bytes() if path.exists() else None) == before


@WRITES
@pytest.mark.parametrize(
    "found",
    [b"results of the year\n", b"{\n}\n", b"#\n", b"# HELP node_load1 x\n", b'{"schema": "trust/1"}', b"\n\n", b"\x00"],
)
def test_a_file_of_another_kind_is_never_written_to(
    line: Line, tmp_path: Path, words: tuple[str, ...], found: bytes
) -> None:
    path = tmp_path / "notes"
    path.write_bytes(found)
    answer = line(*words, str(path), by=(APPROVER,))
    assert (answer.code, "file.other-kind: " in answer.err) == (4, True)
    assert path.read_bytes() == found


def _device(tmp_path: Path) -> Path:
    """One like /dev/null, of the test's own; where that may not be made, a pipe."""
    path = tmp_path / "device"
    try:
        os.mknod(path, 0o666 | stat.S_IFCHR, os.makedev(1, 3))
    except OSError:
        os.mkfifo(path)
    return path


def _link_to_a_file(tmp_path: Path) -> Path:
    (tmp_path / "elsewhere").write_bytes(b"# HELP benchseal_info x\n")
    return _link(tmp_path)


def _empty(tmp_path: Path) -> Path:
    (tmp_path / "empty").write_bytes(b"")
    return tmp_path / "empty"


def _folder(tmp_path: Path) -> Path:
    (tmp_path / "folder").mkdir()
    return tmp_path / "folder"


@pytest.mark.parametrize("where", [_device, _pipe, _link, _link_to_a_file, _empty, _folder])
def test_only_a_file_of_its_own_gives_way_to_the_counts(
    line: Line, tmp_path: Path, where: Callable[[Path], Path]
) -> None:
    path = where(tmp_path)
    before = (path.lstat(), sorted(tmp_path.iterdir()))
    answer = line("status", "--prometheus", str(path), by=(APPROVER,))
    assert (answer.code, "file.other-kind: " in answer.err) == (4, True)
    after = path.lstat()
    assert (after.st_mode, after.st_ino, after.st_size) == (before[0].st_mode, before[0].st_ino, before[0].st_size)
    assert sorted(tmp_path.iterdir()) == before[1]


@WRITES
def test_an_empty_log_and_a_file_of_its_own_kind_are_written_to(
    line: Line, tmp_path: Path, words: tuple[str, ...]
) -> None:
    path = tmp_path / "own"
    if "--log" in words:  # as whoever turns logs over leaves it
        path.write_bytes(b"")
    for _ in range(2):
        assert "file." not in line(*words, str(path), by=(APPROVER,)).err
        assert path.stat().st_size > 100


def test_a_first_line_that_was_cut_short_does_not_close_a_log(ready: Line, tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    path.write_bytes(b'{"schema": "lo')
    assert ready("export", "run", "whole", "--dry-run", "--log", str(path), by=(APPROVER,)).code == 0
    assert path.read_bytes().startswith(b'{"schema": "lo\n{"schema": "log-line/1"')


def test_a_watch(line: Line, tmp_path: Path) -> None:
    (folder := tmp_path / "instruments").mkdir()
    (folder / "flame-ware.txt").write_bytes(line.inbox("flame-ware.txt").read_bytes())
    (folder / "letter.txt").write_bytes(b"dear laboratory,\n")
    os.utime(folder / "flame-ware.txt", ns=(1, 1))
    log = tmp_path / "watch.jsonl"
    words = ("ingest", "--watch", str(folder), "--once", "--settle-seconds", "0", "--log", str(log))
    assert line(*words, by=(ANALYST,)).code == 4
    begun, taken, refused, ended = events(log)
    assert (begun["event"], begun["folder"]) == ("watch.begun", str(folder))
    assert (taken["event"], taken["file"]) == ("watch.taken", "flame-ware.txt")
    assert (refused["event"], refused["file"], refused["codes"]) == (
        "watch.refused",
        "letter.txt",
        ["ingest.layout-unknown"],
    )
    assert (ended["event"], ended["exit"]) == ("watch.ended", 4)


def test_log_belongs_to_a_watch(line: Line, tmp_path: Path) -> None:
    answer = line("ingest", "some.txt", "--log", str(tmp_path / "log"), by=(ANALYST,))
    assert (answer.code, answer.err.startswith("watch.beside: --log: ")) == (2, True)
    assert not (tmp_path / "log").exists()


def test_status_as_metrics(line: Line, tmp_path: Path) -> None:
    folder = tmp_path / "collected"
    folder.mkdir()
    path = folder / "benchseal.prom"
    path.write_text("# HELP benchseal_info Old.\n", encoding="utf-8")
    answer = line("status", "--prometheus", str(path), "--json", by=(ANALYST,))
    given = read(path.read_text("utf-8"))
    plain = {name: value for (name, labels), value in given.samples.items() if labels.count("=") == 1}
    for name in ("runs_to_submit", "runs_to_review", "certificates_open", "deliveries_open", "holds"):
        assert plain[f"benchseal_{name}"] == answer.json[name]
    codes = {re.findall('code="(.*)"', labels)[0] for name, labels in given.samples if name == "benchseal_findings"}
    assert codes == {one["code"] for one in answer.json["problems"]}
    assert plain["benchseal_well"] == (answer.code == 0)
    assert [one.name for one in folder.iterdir()] == ["benchseal.prom"], "no part is left"
    assert path.stat().st_mode & 0o777 == 0o644
    page = PAGE.read_text("utf-8")
    assert {name for name in given.types if f"`{name}" not in page} == set(), "the manual names each"


def test_metrics_that_cannot_be_written(line: Line, tmp_path: Path) -> None:
    path = tmp_path / "folder"
    (path / "inside").mkdir(parents=True)
    answer = line("status", "--prometheus", str(path), by=(ANALYST,))
    assert answer.code == 4, "no other try mends it"
    assert answer.err.startswith("file.other-kind: ")
    nowhere = line("status", "--prometheus", str(tmp_path / "none" / "x.prom"), by=(ANALYST,))
    assert (nowhere.code, "No such file or directory" in nowhere.err) == (4, True)
    assert [one.name for one in tmp_path.iterdir() if one.name.startswith("folder")] == ["folder"]
