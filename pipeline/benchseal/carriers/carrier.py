"""What every way to a server has in common: files in order, never over another file, tried again when it is away."""

from __future__ import annotations

import random
import threading
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, Protocol, TypeVar

from benchseal.problems import Finding, Problem, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

T = TypeVar("T")

UNREACHABLE: Final = "delivery.unreachable"
WHOLE_S: Final = 60.0  # of one request
BYTES_IN_A_SECOND: Final = 64 * 1024  # what is large may take longer


@dataclass(frozen=True, slots=True)
class Carried:
    """placed: put there now. already: equal files that were there before. Both in order."""

    placed: tuple[str, ...]
    already: tuple[str, ...]


class Carrier(Protocol):
    """One way to one place."""

    def carry(self, delivery_id: str, files: Mapping[str, bytes]) -> Carried:
        """Put ``files`` there in their order. A repeat with the same bytes changes nothing and succeeds.

        Raises Stopped: ``delivery.name-taken`` where another file has a name; a Trouble where the place fails.
        """
        ...

    def probe(self) -> str:
        """Look whether the place would take files, without leaving any; what was seen. Raises Stopped."""
        ...


@dataclass(frozen=True, slots=True)
class Patience:
    """How often something that is away is asked again.

    pauses_s: between the tries, each drawn between half and one and a half of itself, so that many programs that lost
    one server do not all come back in the same instant. within_s: of one delivery; after that nothing is asked again.
    """

    pauses_s: tuple[float, ...] = (1.0, 3.0, 9.0)
    sleep: Callable[[float], None] = time.sleep
    draw: Callable[[], float] = field(default=random.random)  # no secret hangs on it
    within_s: float = 120.0
    clock: Callable[[], float] = time.monotonic

    def tried(self, work: Callable[[], T], begun: float | None = None) -> T:
        """What ``work`` gives; asked again while it says ``delivery.unreachable``. Raises Stopped.

        begun: when the delivery began, by ``clock``; None for now.
        """
        begun = self.clock() if begun is None else begun
        for pause_s in self.pauses_s:
            try:
                return work()
            except Stopped as stop:
                if any(one.code != UNREACHABLE for one in stop.notices) or self.clock() - begun >= self.within_s:
                    raise
            self.sleep(pause_s * (0.5 + self.draw()))
        return work()


def within(limit_s: float, work: Callable[[], T], where: str) -> T:
    """What ``work`` gives or raises. Raises Stopped, as unreachable, where it takes longer.

    In a thread of its own, which is left behind then: no library ends a request that a server lets drip.
    """
    got: list[T] = []
    faults: list[BaseException] = []

    def run() -> None:
        try:
            got.append(work())
        except BaseException as fault:  # noqa: BLE001  raised again by who waits
            faults.append(fault)

    working = threading.Thread(target=run, daemon=True)
    working.start()
    working.join(limit_s)
    if working.is_alive() or not (got or faults):  # asked once: what comes later is none
        raise unreachable(where, f"the server did not answer whole within {limit_s:.0f} seconds")
    if faults:
        raise faults[0]
    return got[0]


def unreachable(where: str, why: str) -> Stopped:
    """The place did not answer, or said that it cannot now."""
    return Stopped(
        Trouble(UNREACHABLE, where, f"{why}.", "Run the export again when it is back; it goes on from there.")
    )


def not_permitted(where: str, why: str) -> Stopped:
    """The place does not let this account in, or not write."""
    return Stopped(Trouble("delivery.not-permitted", where, f"{why}.", "Look at account, secret and rights there."))


def refused_there(where: str, why: str) -> Stopped:
    """The place answered, and does not take the file."""
    return Stopped(Trouble("delivery.refused-there", where, f"{why}.", "Ask who runs it; then run the export again."))


def disk_full(where: str, why: str) -> Stopped:
    """The place has no room."""
    return Stopped(
        Trouble("delivery.disk-full", where, f"{why}.", "Have space freed there; then run the export again.")
    )


def name_taken(where: str) -> Stopped:
    """Another file has the name."""
    remedy = "Find out where it came from and have it moved away, then run the export again."
    return Stopped(
        Finding("delivery.name-taken", where, "another file has this name; nothing was overwritten.", remedy)
    )


def name_taken_unread(where: str, why: str) -> Stopped:
    """A file has the name, and nobody can say whether it is this one."""
    what = f"a file has this name, and {why}: whether it is this delivery's, it does not say."
    remedy = "Ask the receiver. If it is, `benchseal export close --arrived yes`; else have it moved away."
    return Stopped(Finding("delivery.name-taken", where, what, remedy))


def not_kept(where: str, what: str = "the file there differs from what was sent") -> Stopped:
    """What was read back is not what was sent."""
    remedy = "Have the server checked and the file removed there, then run the export again."
    return Stopped(Trouble("delivery.not-kept", where, f"{what}.", remedy))


def not_whole(where: str, kept: int, size: int) -> Stopped:
    """A temporary file was not kept as it was sent; no file has its final name, and the temporary one is removed."""
    what = f"it could not be written whole: {kept} bytes were kept, of {size} sent, or not the same ones."
    remedy = "Nothing stands under its name. Have room and disk of the server checked, then run the export again."
    return Stopped(Trouble("delivery.not-kept", where, what, remedy))


def secret_unfit(where: str, why: str) -> Stopped:
    """What is kept as the secret cannot be used. why: never a part of it."""
    remedy = "Put the secret itself there: a password or token on one line, or a whole private key without passphrase."
    return Stopped(Problem("settings.secret-unfit", where, f"the secret cannot be used: {why}.", remedy))
