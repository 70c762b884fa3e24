"""Exporters at work and the closing of a delivery keep apart: a lock in the site's own folder, freed by the system.

Any number of exporters at once; a delivery is closed while none is at work. It holds for one machine, where the system
has such locks (not on Windows); what it misses elsewhere, ``deliveries.finish`` finds and says.
"""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

from benchseal.problems import Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.site import Site

if sys.platform == "win32":  # pragma: no cover  not run on this system

    def _take(descriptor: int, *, alone: bool) -> None:
        """No lock there that several can hold."""

else:
    import fcntl

    def _take(descriptor: int, *, alone: bool) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB if alone else fcntl.LOCK_SH)


@contextmanager
def exporting(site: Site) -> Iterator[None]:
    """Be one of the exporters of this site; waits for the short while in which a delivery is closed."""
    descriptor = _opened(site)
    try:
        _take(descriptor, alone=False)
        yield
    finally:
        os.close(descriptor)


@contextmanager
def no_export(site: Site, delivery_id: str) -> Iterator[None]:
    """Have no exporter at work on this site until the block ends. Raises Stopped where there is one."""
    descriptor = _opened(site)
    try:
        try:
            _take(descriptor, alone=True)
        except BlockingIOError:
            what = "an export of this site is at work."
            remedy = "Wait until it ends, look at `benchseal export list`, then decide again."
            raise Stopped(Trouble("delivery.export-at-work", delivery_id, what, remedy)) from None
        yield
    finally:
        os.close(descriptor)


def _opened(site: Site) -> int:
    return os.open(site.private / "deliveries.lock", os.O_RDWR | os.O_CREAT, 0o600)
