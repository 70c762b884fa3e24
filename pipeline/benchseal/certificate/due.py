"""What a certificate must state only where the record gives cause, held against the record; and where each text is put.

The page is made from the same record, so an omission here is a fault of the program as often as of the record: both
are refused before anybody signs and once more before anything is sealed. Clauses are those of ISO/IEC 17025:2017
(letters from secondary sources, 7.8.5 from memory) and of WHO's model certificate (second hand).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchseal.certificate.conclude import lines_of
from benchseal.certificate.sampler import sampler_of
from benchseal.problems import Problem
from benchseal.records.results import Quantified, WorkedResult

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.certificate.view import CertificateView
    from benchseal.records.evidence import Evidence
    from benchseal.records.registers import SampleRow

_AGAIN: Final = "Then draft the certificate again."
_SAMPLES: Final = "the sample register, column {column} (`benchseal sample correct`)"
_CUSTOMERS: Final = "the customers' sheet, column {column} (`benchseal recipient correct`)"
_FOUNDING: Final = "the facts of the laboratory its site was founded with (`benchseal init`)"
_SPECIFICATION: Final = "a new version of the specification (`benchseal document add`)"
_RUN: Final = "the run: its file and its method (`benchseal run show`)"
_PROGRAM: Final = "nothing of yours: the program makes this text itself. Report the fault"

# Path of a field, or the first part of one, to where its text is put; the longest that fits counts.
_PUT_IN: Final = {
    "laboratory": _FOUNDING,
    "customer.name": _CUSTOMERS.format(column="name"),
    "customer.address": _CUSTOMERS.format(column="address"),
    **{
        f"item.{field}": _SAMPLES.format(column=column)
        for field, column in (
            ("description", "description"),
            ("product", "product"),
            ("lot", "lot"),
            ("customer_sample_id", "customer_sample_id"),
            ("received_on", "received_on"),
            ("quantity_received", "quantity_received"),
            ("condition", "condition"),
            ("sampled_on", "sampled_on"),
            ("sampling", "sampling_plan"),
            ("grade", "grade"),
            ("manufacturer", "manufacturer"),
            ("first_certificate", "first_certificate"),
            ("expiry", "expires_on"),
            ("retest", "retest_on"),
        )
    },
    "item.sample_number": "the sample register, which allots it (`benchseal sample add`)",
    "item.measured_on": _RUN,
    "results": _RUN,
    "results.limit": _SPECIFICATION,
    "conformity": _SPECIFICATION,
    "runs": _RUN,
    "signatures": "the acts that are signed (`run submit`, `run accept`, `certificate approve`, `certificate release`)",
    "relation": "the reason of `certificate amend` or `certificate supplement`",
    "opinions": "the opinion: its text and its basis (`benchseal opinion give`)",
}


def where_put(path: str) -> str:
    """What to do about an empty field of a view: where its text belongs. path: ``item.lot`` or ``results.value``."""
    fitting = [known for known in _PUT_IN if path == known or path.startswith(f"{known}.")]
    place = _PUT_IN[max(fitting, key=len)] if fitting else _PROGRAM
    return f"It belongs in {place}. {_AGAIN}" if place != _PROGRAM else f"It needs {place}."


@dataclass(frozen=True, slots=True)
class Due:
    """One field, due where ``because`` holds. asked, stated: of the record, of the page."""

    path: str
    clause: str
    because: str
    asked: Callable[[Evidence], object]
    stated: Callable[[CertificateView], object]


def _row(evidence: Evidence) -> SampleRow:
    return evidence.certificate.sample.row


def _by_the_laboratory(evidence: Evidence) -> bool:
    return sampler_of(evidence) == "laboratory"


def _from_elsewhere(evidence: Evidence) -> list[str]:
    """Results of methods that no run of the certificate measured by."""
    here = {(run.method.id, run.method.element) for run in evidence.runs}
    return [one.result.result_id for one in evidence.results if (one.result.method.id, one.result.element) not in here]


_DUE: Final = (
    Due(
        "item.condition", "7.8.2.1 g", "the register states it", lambda e: _row(e).condition, lambda v: v.item.condition
    ),
    Due(
        "item.sampled_on",
        "7.8.2.1 h",
        "the register states it, or the laboratory sampled",
        lambda e: _row(e).sampled_on or _by_the_laboratory(e),
        lambda v: v.item.sampled_on,
    ),
    Due("item.grade", "WHO", "the customer stated it", lambda e: _row(e).grade, lambda v: v.item.grade),
    Due(
        "item.manufacturer",
        "WHO",
        "the customer stated it",
        lambda e: _row(e).manufacturer or _row(e).first_certificate,
        lambda v: v.item.manufacturer,
    ),
    Due(
        "item.first_certificate",
        "WHO",
        "the customer stated it",
        lambda e: _row(e).first_certificate,
        lambda v: v.item.first_certificate,
    ),
    Due("item.expiry", "WHO", "the customer stated it", lambda e: _row(e).expires_on, lambda v: v.item.expiry),
    Due("item.retest", "WHO", "the customer stated it", lambda e: _row(e).retest_on, lambda v: v.item.retest),
    Due("external", "7.8.2.1 p", "a result is of no run shown here", _from_elsewhere, lambda v: v.external),
    Due(
        "uncorrected",
        "7.8.3.1 a",
        "a method does not correct the background",
        lambda e: (
            not e.certificate.simplified and [run for run in e.runs if run.method.background_correction == "none"]
        ),
        lambda v: v.uncorrected,
    ),
    Due(
        "relation",
        "7.8.8",
        "it amends or supplements another",
        lambda e: e.certificate.kind != "original",
        lambda v: v.relation,
    ),
    Due("changes", "7.8.8.1", "something is another text now", lambda e: e.changed, lambda v: v.changes),
    Due(
        "simplified",
        "7.8.1.3",
        "it is in simplified form: what is left out, and by which agreement",
        lambda e: e.certificate.simplified,
        lambda v: v.simplified,
    ),
    Due("in_part", "7.8.8", "others report the other lines", lambda e: e.certificate.others, lambda v: v.in_part),
)


def due_problems(view: CertificateView, evidence: Evidence) -> Iterator[Problem]:
    """Everything the record gives cause to state and the page does not say."""
    for due in _DUE:
        if due.asked(evidence) and not due.stated(view):
            yield _missing(due.path, due.path, due.clause, due.because)
    if disagreed := simplified_fault(evidence):
        remedy = f"It belongs in {_SPECIFICATION}: simplified_agreed. {_AGAIN}"
        yield Problem("certificate.not-agreed", "simplified", disagreed, remedy)
    yield from _sampling(view, evidence)
    yield from _results(view, evidence)
    for nth, signed in enumerate(evidence.opinions):
        said = view.opinions[nth] if nth < len(view.opinions) else ""
        basis = " ".join(signed.opinion.basis.split()).rstrip(".")
        if not basis or basis not in said:
            yield _missing("opinions", f"opinions {nth + 1}", "7.8.7", "an opinion on the results was given")


def simplified_fault(evidence: Evidence) -> str:
    """What is wrong with the form: a simplified one needs the agreement its specification names. Empty: nothing."""
    named, agreed = evidence.certificate.simplified, evidence.specification.simplified_agreed.strip()
    if not named or named == agreed:
        return ""
    has = f"the agreement {agreed!r}" if agreed else "no agreement to it"
    return f"the certificate is in simplified form by {named!r}; specification {evidence.specification.id} names {has}."


def _sampling(view: CertificateView, evidence: Evidence) -> Iterator[Problem]:
    """Where the laboratory sampled, the page names the plan."""
    plan = [line.strip() for line in _row(evidence).sampling_plan.splitlines() if line.strip()]
    if _by_the_laboratory(evidence) and not (plan and all(line in view.item.sampling for line in plan)):
        yield _missing("item.sampling", "item.sampling", "7.8.2.1 k", "the laboratory sampled: plan and method")


def _results(view: CertificateView, evidence: Evidence) -> Iterator[Problem]:
    for nth, (line, row) in enumerate(zip(lines_of(evidence), view.results, strict=False), start=1):
        for path, clause, because, missing in (
            (
                "results.limit",
                "7.8.2.1 m",
                "the specification has one",
                any(_figures(limit) not in _figures(row.limit) for limit in (line.lower, line.upper) if limit),
            ),
            (
                "results.expanded",
                "7.8.3.1 c",
                "the result has an uncertainty",
                isinstance(line.outcome, Quantified) and line.outcome.expanded_text and not row.expanded,
            ),
            (
                "results.detail",
                "WHO",
                "it is a mean: the values of its portions",
                isinstance(line, WorkedResult) and _is_mean(line) and not row.detail,
            ),
        ):
            if missing:
                head, _, rest = path.partition(".")
                yield _missing(path, f"{head} {nth}, {rest}", clause, because)
    if len(view.results) != len(lines_of(evidence)):
        yield _missing("results", "results", "7.8.2.1 m", "each result of the record is one line")


def _figures(text: str) -> str:
    """Figures alone: how numbers are grouped and which decimal mark they have is the page's affair."""
    return "".join(sign for sign in text if sign.isdigit())


def _is_mean(result: WorkedResult) -> bool:
    return isinstance(result.outcome, Quantified) and sum(bool(row.value) for row in result.portions) > 1


def _missing(path: str, where: str, clause: str, because: str) -> Problem:
    source = "WHO's model certificate" if clause == "WHO" else f"ISO/IEC 17025 {clause}"
    return Problem(
        code="certificate.field-due",
        where=where,
        what=f"A certificate must state this here, because: {because} ({source}); it is empty.",
        remedy=where_put(path),
    )
