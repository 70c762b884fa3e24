"""When something was measured: the instrument's own time, in UTC by its register's zone."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from benchseal.store.protocol import Reading


def corrected(view: Reading, instrument: str, measured_at: str) -> str:  # noqa: ARG001  see the docstring
    """``measured_at`` (UTC) less what the instrument's clock was off. No clock checks are on record yet: as it is."""
    return measured_at
