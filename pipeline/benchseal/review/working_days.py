"""Working days: Monday to Friday. Public holidays differ by place and are not taken out; the manual says so."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from datetime import date

_SATURDAY: Final = 5
_WEEK: Final = 7
_IN_A_WEEK: Final = 5


def working_days(since: date, until: date) -> int:
    """How many Mondays to Fridays come after ``since``, up to and with ``until``; 0 where ``until`` is not later."""
    days = (until - since).days
    if days <= 0:
        return 0
    weeks, rest = divmod(days, _WEEK)
    return weeks * _IN_A_WEEK + sum(
        (since + timedelta(days=weeks * _WEEK + nth)).weekday() < _SATURDAY for nth in range(1, rest + 1)
    )
