"""What can go wrong, as values: four kinds, one shape, one table to exit codes.

A kind says who has to act. ``Problem``: the input is wrong. ``Refusal``: the act is not allowed.
``Trouble``: the machine failed (disk, lock, network). ``Finding``: a check looked and found something.
A fault of this program is none of these; it is an ``AssertionError`` or ``RuntimeError``.
"""

from __future__ import annotations

from dataclasses import dataclass

EXIT_DONE = 0
EXIT_FAULT = 1
EXIT_USAGE = 2
EXIT_SETTINGS = 3
EXIT_INPUT = 4
EXIT_NOT_ALLOWED = 5
EXIT_INTEGRITY = 6
EXIT_UNREACHABLE = 7
EXIT_ACKNOWLEDGEMENT = 8
EXIT_VERSION = 9
EXIT_FINDING = 10
EXIT_BUSY = 75
EXIT_INTERRUPTED = 130
EXIT_PIPE = 141  # as a shell shows a program that died of SIGPIPE, 128 and 13


# Codes of what comes in from outside have a page of their own.
_OF_INPUT = ("documents.", "ingest.", "validate.")
_PAGE = "docs/manual/problems.md"
PAGE_OF_INPUT = "docs/manual/problems-input.md"


@dataclass(frozen=True, slots=True)
class Notice:
    """The shape all four kinds share.

    code: dotted words, stable, each with a page in the manual (``ingest.number-unreadable``).
    where: what a person can find: file, line and column; or the record concerned.
    what: what was met, with both sides where two differ. remedy: what to do next.
    """

    code: str
    where: str
    what: str
    remedy: str

    def __str__(self) -> str:
        """One line: code, place, what, remedy."""
        place = f" {self.where}:" if self.where else ""
        return f"{self.code}:{place} {self.what} {self.remedy}".rstrip()

    @property
    def page(self) -> str:
        """The page of the manual that describes the code."""
        return PAGE_OF_INPUT if self.code.startswith(_OF_INPUT) else _PAGE

    @property
    def told(self) -> dict[str, str]:
        """All of it by name, as ``--json`` and kept reports say it."""
        return {"code": self.code, "where": self.where, "what": self.what, "remedy": self.remedy, "page": self.page}


class Problem(Notice):
    """Input is wrong."""

    __slots__ = ()


class Refusal(Notice):
    """An act is not allowed, or lacks a signature."""

    __slots__ = ()


class Trouble(Notice):
    """The machine failed: disk, lock, network."""

    __slots__ = ()


class Finding(Notice):
    """A check looked and found something."""

    __slots__ = ()


class Stopped(Exception):  # noqa: N818  it is not an error of the program: it carries what must be said
    """Ends an act: the transaction is undone and the door prints ``notices``."""

    def __init__(self, *notices: Notice) -> None:
        super().__init__("; ".join(str(notice) for notice in notices))
        self.notices: tuple[Notice, ...] = notices


class NotDone(Stopped):
    """An act stopped by itself: whoever asked for it was admitted, and may do it."""


# The first prefix that fits decides; then the kind.
_EXIT_BY_PREFIX = (
    ("settings.", EXIT_SETTINGS),
    ("profile.", EXIT_SETTINGS),
    ("store.busy", EXIT_BUSY),
    ("store.version", EXIT_VERSION),
    ("store.not-upgraded", EXIT_VERSION),
    ("store.missing", EXIT_SETTINGS),
    ("store.exists", EXIT_SETTINGS),
    ("store.network-file-system", EXIT_SETTINGS),
    ("verify.nothing", EXIT_USAGE),
    ("ingest.nothing", EXIT_USAGE),
    ("watch.beside", EXIT_USAGE),
    ("verify.files-beside-all", EXIT_USAGE),
    ("verify.against-alone", EXIT_USAGE),
    # A unit takes a refused file (4) as no failure; without a folder, credential or log nothing is ever brought in.
    ("watch.no-folder", EXIT_SETTINGS),
    ("watch.log", EXIT_SETTINGS),
    ("sign-in.secret-short", EXIT_SETTINGS),
    ("sign-in.secret-unreadable", EXIT_SETTINGS),
    ("verify.trust", EXIT_SETTINGS),
    ("verify.status", EXIT_SETTINGS),
    ("ingest.already", EXIT_DONE),  # nothing to do, and it is said
    ("document.no-change", EXIT_DONE),
    ("delivery.unreachable", EXIT_UNREACHABLE),
    ("delivery.acknowledgement", EXIT_ACKNOWLEDGEMENT),
    ("delivery.not-permitted", EXIT_NOT_ALLOWED),
    # A place that is full, failing or says no does not mend itself: somebody must look.
    ("delivery.refused-there", EXIT_FINDING),
    ("delivery.disk-", EXIT_FINDING),
    ("delivery.read-only", EXIT_FINDING),
    ("delivery.not-kept", EXIT_FINDING),
    ("integrity.", EXIT_INTEGRITY),
)
_EXIT_BY_KIND: tuple[tuple[type[Notice], int], ...] = (
    (Problem, EXIT_INPUT),
    (Refusal, EXIT_NOT_ALLOWED),
    (Trouble, EXIT_BUSY),
    (Finding, EXIT_FINDING),
)


# What may mend itself by the next try, and what a schedule may take as no failure: it never hides anything else.
_QUIET = (EXIT_UNREACHABLE, EXIT_BUSY, EXIT_DONE)


def exit_code(notices: tuple[Notice, ...]) -> int:
    """Exit code for what was said: that of the first notice for which a person is needed, else 7, else 75, else 0."""
    codes = [_code_of(notice) for notice in notices]
    loud = (code for code in codes if code not in _QUIET)
    return next(loud, next((code for code in _QUIET if code in codes), EXIT_DONE))


def _code_of(notice: Notice) -> int:
    for prefix, code in _EXIT_BY_PREFIX:
        if notice.code.startswith(prefix):
            return code
    return next(code for kind, code in _EXIT_BY_KIND if isinstance(notice, kind))
