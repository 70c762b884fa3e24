"""One act in progress: who acts, when, and the transaction everything it does belongs to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, cast

from benchseal import __version__
from benchseal.desk.clock import moment_of, stamp
from benchseal.desk.policy_gate import require_acknowledged
from benchseal.desk.trained import role_refusals
from benchseal.identity.statements import sign_statement
from benchseal.problems import Notice, Refusal, Stopped
from benchseal.records.entries import Entry, read_entry
from benchseal.records.results import CALCULATION_RULES
from benchseal.records.shape import plain_of
from benchseal.records.signatures import Signature, SignatureStatement

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.desk.site import Site
    from benchseal.records.canonical import Digest, Json
    from benchseal.records.people import Role
    from benchseal.records.signatures import Meaning
    from benchseal.store.sqlite import SqliteWriting

PROGRAM = "program"  # the actor of entries that finish what a person signed
FIRST_PROGRAM = "0.1.0"  # the version of entries before any that names one
BACK_ALLOWED_SECONDS = 2.0


@dataclass(frozen=True, slots=True)
class Who:
    """A person whose identity was checked for this act. signs: whether the password was given with it."""

    person: str
    printed_name: str
    roles: frozenset[Role]
    signs: bool


@dataclass(frozen=True, slots=True)
class Receipt:
    """What an act gives back: lines for people, values for ``--json``, and notices that decide the exit code."""

    said: tuple[str, ...]
    data: dict[str, Json] = field(default_factory=dict)
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True)
class Acting:
    """Handed to each act's function; the only way to the ledger. made: what its row makes beforehand, else None."""

    site: Site
    tx: SqliteWriting
    who: tuple[Who, ...]
    moment: datetime
    made: object = None

    @property
    def at(self) -> str:
        """Entry time of everything in this act."""
        return stamp(self.moment)

    @property
    def first(self) -> Who:
        """The person who acts, or the first of several."""
        return self.who[0]

    def write(  # noqa: PLR0913  the parts of an entry
        self,
        kind: str,
        subject: str,
        *,
        facts: dict[str, Json] | None = None,
        digests: dict[str, Digest] | None = None,
        reason: str = "",
        actor: str = "",
    ) -> int:
        """Append one entry and its derived rows; its sequence number."""
        entry = Entry(
            seq=self.tx.size() + 1,
            kind=kind,
            at=self.at,
            actor=actor or self.first.person,
            subject=subject,
            reason=reason,
            facts=facts or {},
            digests=digests or {},
        )
        self.tx.append(entry)
        return entry.seq

    def sign(  # noqa: PLR0913  what a signature statement holds
        self, who: Who, role: Role, meaning: Meaning, subject: str, *, version: int, digest: Digest
    ) -> dict[str, Json]:
        """The signature of ``who`` as entry facts.

        Signing pauses while the clock is behind the ledger, and for whoever has not acknowledged the policy on signing.
        """
        if not who.signs:
            raise AssertionError("an act that signs must be admitted with a password")
        self._require_clock()
        require_acknowledged(self.tx, who.person, subject)
        if untrained := [*role_refusals(self.tx, who.person, role, self.at, subject)]:
            raise Stopped(*untrained)
        site_row = self.tx.row("site", ledger=self.site.ledger)
        zone = site_row["zone"] if site_row else "UTC"
        statement = SignatureStatement(
            ledger=self.site.ledger,
            person=who.person,
            printed_name=who.printed_name,
            role=role,
            meaning=meaning,
            subject=subject,
            version=version,
            digest=digest,
            at=self.at,
            zone=zone,
        )
        return plain_of(Signature(statement, sign_statement(statement)))

    def count(self, name: str) -> int:
        """Next number of a per-site counter; the entry that uses it puts it on record."""
        row = self.tx.row("counter", name=name)
        return int(row["value"]) + 1 if row else 1

    def note_clock(self) -> None:
        """Put on record that the clock went back, once, before anything else is written; then signing waits."""
        behind = self._behind_seconds()
        row = self.tx.row("site", ledger=self.site.ledger)
        if behind > BACK_ALLOWED_SECONDS and row is not None and not row["clock_back"]:
            facts: dict[str, Json] = {"seconds": round(behind), "last_at": self.last_at() or ""}
            self.write("clock.back", f"site/{self.site.ledger}", facts=facts, actor=PROGRAM)

    def note_program(self) -> None:
        """Put on record that another version of this program acts from here on; every entry's version follows from it.

        A ledger that says nothing was written by ``FIRST_PROGRAM``, which did not say.
        """
        row = self.tx.row("site", ledger=self.site.ledger)
        if row is not None and (row["program"] or FIRST_PROGRAM) != __version__:
            facts: dict[str, Json] = {"program": __version__, "calculation_rules": CALCULATION_RULES}
            self.write("program.changed", f"site/{self.site.ledger}", facts=facts, actor=PROGRAM)

    def _behind_seconds(self) -> float:
        last = self.last_at()
        return 0.0 if last is None else (moment_of(last) - self.moment).total_seconds()

    def _require_clock(self) -> None:
        behind = self._behind_seconds()
        if behind > BACK_ALLOWED_SECONDS:
            what = f"its clock is {behind:.0f} s behind the last entry of the ledger ({self.last_at()})."
            remedy = "Nothing was signed. Put the clock right, then sign again."
            raise Stopped(Refusal("clock.went-back", "this machine", what, remedy))
        row = self.tx.row("site", ledger=self.site.ledger)
        if row is not None and row["clock_back"]:
            what = f"its clock went back at {row['clock_back']}, and nobody has said that it is right now."
            remedy = "Nothing was signed. An administrator looks at the clock, then runs `benchseal clock confirm`."
            raise Stopped(Refusal("clock.unconfirmed", "this machine", what, remedy))

    def last_at(self) -> str | None:
        """Time of the last entry."""
        size = self.tx.size()
        if size == 0:
            return None
        body = next(self.tx.entries(size))[1]
        return read_entry(body).at


def as_json(value: object) -> Json:
    """A value the type checker cannot follow, already plain."""
    return cast("Json", value)
