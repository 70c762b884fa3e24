from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from benchseal.identity.sessions import SessionRules, check_session, is_unbroken
from benchseal.problems import EXIT_NOT_ALLOWED, exit_code

START = datetime(2026, 3, 4, 6, 0, tzinfo=UTC)


def minutes(count: float) -> datetime:
    return START + timedelta(minutes=count)


@pytest.mark.clause("A11d 11")
@pytest.mark.refuses("A11d 11")
@pytest.mark.parametrize(
    ("last_seen", "now", "code"),
    [
        pytest.param(0, 0, None, id="just begun"),
        pytest.param(0, 14.99, None, id="idle a little less"),
        pytest.param(0, 15, "session-idle", id="idle fifteen minutes"),
        pytest.param(719, 719.99, None, id="nearly twelve hours"),
        pytest.param(719, 720, "session-over", id="twelve hours"),
        pytest.param(0, 5000, "session-over", id="both; the overall one is said"),
        pytest.param(30, 29, "session-clock", id="the clock went back"),
        pytest.param(-1, 1, "session-clock", id="seen before it began"),
    ],
)
def test_when_a_session_ends(last_seen: float, now: float, code: str | None) -> None:
    refusal = check_session(START, minutes(last_seen), minutes(now))
    assert (refusal and refusal.code) == (code and f"identity.{code}")
    if refusal is not None:
        assert exit_code((refusal,)) == EXIT_NOT_ALLOWED


def test_shorter_rules_are_followed_and_said() -> None:
    rules = SessionRules(idle=timedelta(minutes=5), overall=timedelta(hours=2))
    idle = check_session(START, minutes(1), minutes(6), rules)
    over = check_session(START, minutes(119), minutes(120), rules)
    assert idle is not None
    assert over is not None
    assert "5 min without work" in idle.what
    assert "after 2 h" in over.what


@pytest.mark.parametrize(
    ("last_signed", "now", "unbroken"),
    [
        pytest.param(None, 0, False, id="first signing"),
        pytest.param(0, 0, True, id="at once"),
        pytest.param(0, 4.99, True, id="within five minutes"),
        pytest.param(0, 5, False, id="five minutes later"),
        pytest.param(1, 0, False, id="the clock went back"),
    ],
)
def test_when_signings_count_as_one_run(last_signed: float | None, now: float, *, unbroken: bool) -> None:
    assert is_unbroken(None if last_signed is None else minutes(last_signed), minutes(now)) is unbroken


@pytest.mark.refuses("A11d 11")
@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"idle": timedelta(minutes=61)}, id="idle longer than an hour"),
        pytest.param({"idle": timedelta(0)}, id="no idle time"),
        pytest.param({"overall": timedelta(hours=25)}, id="longer than a day"),
        pytest.param({"overall": timedelta(minutes=14)}, id="over before idle"),
        pytest.param({"signing": timedelta(minutes=16)}, id="signing outlives the session"),
        pytest.param({"signing": timedelta(0)}, id="no signing time"),
    ],
)
def test_rules_beyond_the_bounds_do_not_exist(change: dict[str, timedelta]) -> None:
    with pytest.raises(ValueError, match=r"session|signings"):
        SessionRules(**change)
