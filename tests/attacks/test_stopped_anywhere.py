"""Killed or failing at any write, flush or change of a name: whole before or whole after, and the repeat ends well.

Points are found by watching the command once with strace; each is then hit on a fresh copy of the site. What a kill
leaves is checked by its contents: contents met before were verified before.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.attacks.scenes import scenes
from tests.attacks.stops import Point, Runner, Scene, clear, findings, spread

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.demo.play import Played

# Points killed and points failing in the suite, 100 and 66 together; a release renders and seals each time.
SAMPLES = {
    "ingest": (16, 11),
    "sign": (16, 11),
    "review": (2, 2),
    "draft": (2, 2),
    "approve": (2, 2),
    "release": (3, 2),
    "export": (11, 7),
    "backup": (14, 9),
    "rotate tree": (6, 4),
    "rotate seal": (3, 2),
    "revoke": (2, 2),
    "copy": (7, 4),
    "watch": (16, 8),
}
NAMES = tuple(SAMPLES)
LONG_KILLS, LONG_ERRORS = 10_000, 60  # of each command in the long campaign: every point, and every so many-th
NEW_NAMES = re.compile(
    r"\.part|temporary/|\.key\.json"
)  # files whose names are new each time: strace cannot be told them
ROOM = 200 * 1024 * 1024


def can_trace() -> bool:
    """Whether strace is there and may trace a process here."""
    if shutil.which("strace") is None:
        return False
    return subprocess.run(["strace", "-qq", "-o", "/dev/null", "true"], check=False, stderr=-1).returncode == 0  # noqa: S607


pytestmark = pytest.mark.skipif(not can_trace(), reason="strace is missing or may not trace here")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Where sites are copied to. In memory where there is room: a killed process loses nothing it has handed over."""
    memory = Path("/dev/shm")  # noqa: S108  a folder of our own is made in it
    if memory.is_dir() and os.access(memory, os.W_OK) and shutil.disk_usage(memory).free > ROOM:
        with tempfile.TemporaryDirectory(prefix="benchseal-stops-", dir=memory) as name:
            yield Path(name)
    else:
        yield tmp_path_factory.mktemp("stops")


@pytest.fixture(scope="module")
def staged(played: Played, place: Path) -> Iterator[dict[str, Scene]]:
    runner = Runner.start()
    try:
        yield scenes(played.site.folder, place / "scenes", runner)
    finally:
        runner.stop()


def kill_at_points(scene: Scene, folder: Path, count: int, *, always: bool) -> int:
    """Kill the command at ``count`` points (or every point there is); how many there were."""
    chosen = spread(scene.observed[1], count)
    for number, point in enumerate(chosen):
        site = killed_copy(scene, folder / str(number), point)
        scene.require_whole(site)
        scene.require_repeatable(site, always=always)
        shutil.rmtree(folder / str(number))
    return len(chosen)


def killed_copy(scene: Scene, folder: Path, point: Point) -> Path:
    """A copy of the site on which the command was killed at ``point``.

    Secrets are new each time, so a run may have a few pages fewer than the one watched: then it is an earlier call.
    """
    for nth in range(point.nth, 0, -1):
        site = scene.copy(folder)
        inject = f"inject={point.call}:signal=SIGKILL:when={nth}"
        said = scene.do(site, ["-e", f"trace={point.call}", "-e", inject])
        if said.code == -signal.SIGKILL:
            return site
        assert said.code == 0, (point, said)
        shutil.rmtree(folder)
    raise AssertionError(point)


def fail_at_points(scene: Scene, folder: Path, count: int) -> int:
    """Let calls fail with a full disk or a broken one, once or from then on; how many there were."""
    chosen = spread(scene.observed[1], count)
    for number, point in enumerate(chosen):
        site = scene.copy(folder / str(number))
        fault, lasting = ("ENOSPC", "EIO")[number % 2], number % 4 >= 2 and not NEW_NAMES.search(point.file)
        only = ["-P", str(site.parent / point.file)] if lasting else []
        when = "1+" if lasting else str(point.nth)  # with -P only calls on that file count
        inject = f"inject={point.call}:error={fault}:when={when}"
        said = scene.do(site, [*only, "-e", f"trace={point.call}", "-e", inject])
        scene.require_whole(site)
        if said.code:
            seen = ("delivery.disk-", "delivery.not-kept")  # a place that fails is told to somebody
            due = 10 if any(code in said.err for code in seen) else 75
            assert said.code == due, (point, fault, lasting, said)
            assert clear(said.err), (point, said)
        else:
            assert findings(site) == (), (point, fault)
        scene.require_repeatable(site, always=False)
        shutil.rmtree(folder / str(number))
    return len(chosen)


@pytest.mark.clause("PI041 enduring", "A11 16")
@pytest.mark.refuses("P11 11.10(e)", "PI041 enduring")
@pytest.mark.parametrize("name", NAMES)
def test_killed_at_a_sample_of_points(staged: dict[str, Scene], place: Path, name: str) -> None:
    assert kill_at_points(staged[name], place / "killed" / name, SAMPLES[name][0], always=False) == SAMPLES[name][0]


@pytest.mark.refuses("A11 5", "A11 16")
@pytest.mark.parametrize("name", NAMES)
def test_disks_that_fail_at_a_sample_of_points(staged: dict[str, Scene], place: Path, name: str) -> None:
    assert fail_at_points(staged[name], place / "failing" / name, SAMPLES[name][1]) == SAMPLES[name][1]


@pytest.mark.long
def test_the_campaigns_have_as_many_points_as_is_said(staged: dict[str, Scene]) -> None:
    every = [len(staged[name].observed[1]) for name in NAMES]
    assert sum(every) >= 1500
    assert sum(min(points, LONG_ERRORS) for points in every) >= 500


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_killed_at_every_point(staged: dict[str, Scene], place: Path, name: str) -> None:
    killed = kill_at_points(staged[name], place / "all killed" / name, LONG_KILLS, always=True)
    print(f"{name}: killed at {killed} points")  # noqa: T201  a release report states counts; shown with -rP
    assert killed == len(staged[name].observed[1]) > SAMPLES[name][0]


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_disks_that_fail_at_every_point(staged: dict[str, Scene], place: Path, name: str) -> None:
    failed = fail_at_points(staged[name], place / "all failing" / name, LONG_ERRORS)
    print(f"{name}: failing at {failed} points")  # noqa: T201
    assert failed > SAMPLES[name][1]
