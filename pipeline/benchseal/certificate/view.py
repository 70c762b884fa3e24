"""What a certificate shows: frozen text, ready to print, plus the numbers of its pictures.

Nothing here is rounded, chosen or judged any more: that happened where the view was built. The templates print
these fields in this order and decide nothing but what an empty optional field leaves out. Text fields are one
line each; an empty string means "does not apply" where the comment says optional, and is refused elsewhere
(``certificate.complete``).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.certificate.language import ENGLISH

if TYPE_CHECKING:
    from benchseal.certificate.language import Words
    from benchseal.pictures.calibration import CalibrationData
    from benchseal.records.letterhead import Logo

Verdict: TypeAlias = Literal["complies", "fails", "open"]
UnsealedMark: TypeAlias = Literal["", "DRAFT", "PRELIMINARY"]


@dataclass(frozen=True, slots=True)
class Laboratory:
    """Who issues, and where the work was done (repeat the address if it was done there)."""

    name: str
    address: tuple[str, ...]
    where_done: str


@dataclass(frozen=True, slots=True)
class Customer:
    """Who asked for the work."""

    name: str
    address: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Item:
    """What was tested and how it came in. Optional: grade, manufacturer, sampled_on, expiry, retest, condition.

    ``first_certificate``: the manufacturer's own, of a lot that was repacked or traded; optional.

    ``sampling`` is the sampling statement ("Sampled by the customer; results apply to the sample as received.").
    ``stated_by_customer`` names what the customer supplied (17025, 7.8.2.2); optional.
    """

    description: str
    product: str
    lot: str
    sample_number: str
    customer_sample_id: str
    received_on: str
    quantity_received: str
    measured_on: str
    sampling: str
    condition: str = ""
    grade: str = ""
    manufacturer: str = ""
    sampled_on: str = ""
    expiry: str = ""
    retest: str = ""
    first_certificate: str = ""
    stated_by_customer: str = ""


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One result as one line. A result below its limit has ``value`` "< 0.013" and no ``expanded``.

    ``places`` is the number of figures after the decimal mark of ``value``: values are set so that marks align.
    ``detail`` is printed under the row ("portions 99.4 and 98.9"); optional. ``method`` is id@version.
    ``limit`` is a dash if the specification has none; ``rule`` and ``verdict`` then say so in words.
    """

    substance: str
    quantity: str
    value: str
    expanded: str
    unit: str
    coverage: str
    limit: str
    rule: str
    verdict: str
    verdict_kind: Verdict
    method: str
    detail: str = ""

    @property
    def tail(self) -> str:
        """What follows the value: ``± 0.020 µg/g (k = 2)``, or the unit alone."""
        return f"± {self.expanded} {self.unit} ({self.coverage})" if self.expanded else self.unit

    @property
    def phrase(self) -> str:
        """Value, uncertainty and unit as one phrase."""
        return f"{self.value} {self.tail}"


@dataclass(frozen=True, slots=True)
class CheckLine:
    """The checks of one kind in one run: what ("check standards, 5"), found, limits, verdict word."""

    check: str
    found: str
    limits: str
    verdict: str
    verdict_kind: Verdict


@dataclass(frozen=True, slots=True)
class RunPanel:
    """One run: its picture, the facts of its fit in one line, its checks.

    ``heading`` "Lead, 283.3 nm"; ``run`` "run R-0007, graphite furnace, 14 Jan 2026"; ``fit_line``
    "line, weights 1/x · n = 7 · residual sd 0.00021 A·s"; ``calibration`` is None where the instrument gave
    concentrations, and ``fit_line`` then says so.
    """

    heading: str
    run: str
    fit_line: str
    calibration: CalibrationData | None
    checks: tuple[CheckLine, ...]


@dataclass(frozen=True, slots=True)
class SignatureParagraph:
    """One person, one act. ``at`` is date, time, offset and zone; ``digest_start`` eight hexadecimal digits."""

    name: str
    role: str
    meaning: str
    at: str
    digest_start: str


@dataclass(frozen=True, slots=True)
class Conformity:
    """The statement of conformity. ``conclusion`` is the one sentence the eye should find first."""

    conclusion: str
    verdict_kind: Verdict
    specification: str
    decision_rule: str


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where this certificate is held and what it was made with. ``evidence_digest`` is 64 hexadecimal digits."""

    ledger_id: str
    ledger_size: str
    ledger_root_start: str
    evidence_digest: str
    program: str
    calculation_rules: str


@dataclass(frozen=True, slots=True)
class Relation:
    """Why this certificate exists beside an earlier one (17025, 7.8.8). ``words`` is the whole sentence."""

    words: str
    earlier_number: str


@dataclass(frozen=True, slots=True)
class Change:
    """One text that the earlier certificate printed otherwise. before, after: a dash where it does not stand."""

    place: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class CertificateView:
    """The whole certificate. Optional: relation, opinions, external (results of external providers), notes.

    ``changes`` of an amendment. ``in_part``: which certificates report the other lines of the specification; optional.

    ``deviations`` is "none" or says them. ``limits_and_cautions`` are whole sentences, printed in order.
    ``uncorrected`` says which elements were measured without background correction, and why; optional.
    ``simplified``: the sentence that says what is left out, and by which agreement; optional, then ``runs`` is empty.
    ``accreditation``, ``foot`` and ``logo`` are those of the letterhead; optional.
    ``words`` are those of its language, for what the template itself says.
    ``unsealed_mark`` makes a paper that says on every page that it is no certificate; it cannot be sealed.
    """

    title: str
    number: str
    issued_on: str
    laboratory: Laboratory
    customer: Customer
    item: Item
    conformity: Conformity
    results: tuple[ResultRow, ...]
    deviations: str
    uncertainty: str
    runs: tuple[RunPanel, ...]
    signatures: tuple[SignatureParagraph, ...]
    provenance: Provenance
    limits_and_cautions: tuple[str, ...]
    relation: Relation | None = None
    opinions: tuple[str, ...] = ()
    external: str = ""
    notes: tuple[str, ...] = ()
    unsealed_mark: UnsealedMark = ""
    uncorrected: str = ""
    changes: tuple[Change, ...] = ()
    in_part: str = ""
    simplified: str = ""
    words: Words = ENGLISH
    accreditation: str = ""
    foot: str = ""
    logo: Logo | None = None


def standing_cautions(words: Words) -> tuple[str, ...]:
    """What every certificate says: of what the results are, that it is one whole, and that it releases no goods."""
    return words.say("caution/items"), words.say("caution/part"), words.say("caution/release")


def printed_tokens(row: ResultRow) -> tuple[str, ...]:
    """The words of a result row in the order in which the page prints them.

    An outside check compares these, as one ordered row, with the text read from the page.
    """
    columns = (row.substance, row.quantity, row.value, row.tail, row.limit, row.rule, row.verdict, row.method)
    return tuple(token for column in columns for token in column.split())


def row_is_printed(row: ResultRow, pages: tuple[str, ...]) -> bool:
    """Whether ``row`` stands on one of ``pages``: every character, in order, and nothing joined to either end.

    Where white space stands between characters is not compared, because a cell may break its text over two lines.
    """
    wanted = "".join(printed_tokens(row))
    pattern = re.compile(r"(?<!\S)" + r"\s*".join(re.escape(character) for character in wanted) + r"(?!\S)")
    return any(pattern.search(page) for page in pages)
