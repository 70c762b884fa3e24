"""Which exit code a scheduler sees: what needs a person is never hidden by what may mend itself."""

from __future__ import annotations

import configparser

import pytest

from benchseal.carriers import carrier
from benchseal.problems import Finding, Notice, Problem, Stopped, Trouble, exit_code
from benchseal.shipped import starter

AWAY = Trouble("delivery.unreachable", "", "", "")
BUSY = Trouble("store.busy", "", "", "")
HELD = Finding("delivery.acknowledgement-rejected", "", "", "")
NOTHING = Problem("ingest.already", "", "", "")


def quiet() -> set[int]:
    """What the shipped schedules take as no failure."""
    read = configparser.RawConfigParser(strict=False, interpolation=None)
    read.read_string(starter("schedule/benchseal-export.service"))
    return {0, 7, *map(int, read["Service"]["SuccessExitStatus"].split())}


@pytest.mark.parametrize(
    "stop",
    [
        carrier.not_permitted("", ""), carrier.refused_there("", ""), carrier.disk_full("", ""), carrier.not_kept(""),
        carrier.name_taken(""), Stopped(Trouble("delivery.read-only", "", "", "")),
        Stopped(Trouble("delivery.disk-failed", "", "", "")),
    ],
    ids=lambda stop: stop.notices[0].code,
)  # fmt: skip
def test_what_does_not_mend_itself_fails_the_unit(stop: Stopped) -> None:
    assert exit_code(stop.notices) not in quiet()


@pytest.mark.parametrize(
    ("notices", "code"),
    [
        ((), 0), ((NOTHING,), 0), ((AWAY,), 7), ((BUSY, NOTHING), 75), ((BUSY, AWAY), 7), ((BUSY, HELD), 8),
        ((AWAY, NOTHING, HELD), 8), ((HELD, *carrier.refused_there("", "").notices), 8),
        ((BUSY, *carrier.refused_there("", "").notices, HELD), 10),
    ],
)  # fmt: skip
def test_the_first_thing_a_person_must_look_at_decides(notices: tuple[Notice, ...], code: int) -> None:
    assert exit_code(notices) == code
