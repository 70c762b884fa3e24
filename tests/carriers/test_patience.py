"""What is away is asked again, with pauses that differ; what answers no is not."""

from __future__ import annotations

import pytest

from benchseal.carriers.carrier import Patience, name_taken, not_permitted, unreachable
from benchseal.problems import Stopped


def tried(faults: list[Stopped], draw: float = 0.5) -> tuple[str | None, list[float]]:
    slept: list[float] = []

    def work() -> str:
        if faults:
            raise faults.pop(0)
        return "done"

    patience = Patience((1.0, 3.0, 9.0), slept.append, lambda: draw)
    try:
        return patience.tried(work), slept
    except Stopped as stop:
        return stop.notices[0].code, slept


def test_what_is_away_is_asked_again_after_growing_pauses() -> None:
    assert tried([]) == ("done", [])
    assert tried([unreachable("x", "away")]) == ("done", [1.0])
    assert tried([unreachable("x", "away")] * 3) == ("done", [1.0, 3.0, 9.0])
    assert tried([unreachable("x", "away")] * 4) == ("delivery.unreachable", [1.0, 3.0, 9.0])


@pytest.mark.parametrize("fault", [name_taken("x"), not_permitted("x", "no")])
def test_a_no_is_not_asked_again(fault: Stopped) -> None:
    assert tried([fault]) == (fault.notices[0].code, [])


def test_pauses_lie_between_half_and_one_and_a_half() -> None:
    assert tried([unreachable("x", "away")] * 3, draw=0.0)[1] == [0.5, 1.5, 4.5]
    assert tried([unreachable("x", "away")] * 3, draw=1.0)[1] == [1.5, 4.5, 13.5]


def test_a_delivery_is_not_asked_again_when_its_time_is_over() -> None:
    times = iter([100.0, 100.0, 159.0, 160.0])
    slept: list[float] = []
    patience = Patience((1.0, 3.0, 9.0), slept.append, lambda: 0.5, within_s=60.0, clock=lambda: next(times))
    asked: list[int] = []

    def away() -> None:
        asked.append(1)
        raise unreachable("x", "away")

    with pytest.raises(Stopped):
        patience.tried(away, begun=patience.clock())
    assert (slept, len(asked)) == ([1.0, 3.0], 3)
