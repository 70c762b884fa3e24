"""One watch for a folder: a lock in the site's own folder, freed by the system whatever becomes of a process."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from hashlib import sha256
from typing import TYPE_CHECKING

from benchseal.problems import Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.desk.site import Site

if sys.platform == "win32":  # pragma: no cover  not run on this system
    import msvcrt

    def _lock(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.lockf(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB, 1)


@contextmanager
def only_watch(site: Site, folder: Path) -> Iterator[None]:
    """Be the only watch of this site on ``folder`` until the block ends. Raises Stopped where there is one already."""
    name = sha256(os.fsencode(folder.resolve())).hexdigest()[:16]
    descriptor = os.open(site.private / f"watch-{name}.lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        try:
            _lock(descriptor)
        except OSError:
            what = "another watch of this site works on this folder."
            raise Stopped(Trouble("watch.taken", str(folder), what, "End that one first.")) from None
        yield
    finally:
        os.close(descriptor)
