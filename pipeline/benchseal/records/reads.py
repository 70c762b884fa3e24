"""One line of the log of reads: who asked to see what, when. It stands outside the ledger, one file a year."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

ReadBy: TypeAlias = Literal["password", "session", "token", "nobody"]


@dataclass(frozen=True, slots=True)
class NotedRead:
    """One read, noted before anything is shown.

    at: form of entry times. person: user id, or the number of a system's token; empty where nobody is asked for or
    known. by: how they were known; ``nobody``: not at all. account: the account of the machine, as the system names it,
    no proof of a person. asked: what was given with the command, as ``name=value``.
    """

    schema: Literal["read/1"]
    at: str
    person: str
    by: ReadBy
    account: str
    command: str
    asked: tuple[str, ...]
    program: str
