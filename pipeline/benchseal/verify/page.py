"""The page against the evidence: what it prints is what the evidence says, row by row and in order."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import fields
from functools import lru_cache
from typing import TYPE_CHECKING

from benchseal.certificate.changes import wrongly_marked
from benchseal.certificate.conclude import conclusion_for, line_id, lines_of
from benchseal.certificate.page_flow import due_flow, flow_faults
from benchseal.certificate.page_text import bare
from benchseal.certificate.present import view_of, with_printed
from benchseal.certificate.render import page_html
from benchseal.certificate.wording import IN_PART, REPRODUCED, WORDING
from benchseal.records.printed_form import in_order
from benchseal.records.results import WorkedResult
from benchseal.records.species import stated_as
from benchseal.verify.contents import Doubt

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.certificate.conclude import Line
    from benchseal.certificate.page_flow import Flow
    from benchseal.certificate.view import CertificateView, RunPanel
    from benchseal.records.evidence import Evidence
    from benchseal.verify.contents import Case, Faults


# What forms before ``REPRODUCED`` said as this program does.
_PRINTED_ALIKE = frozenset(
    {
        *("title", "certificate", "date of issue", "laboratory", "customer", "product", "description", "lot"),
        *("sample number", "customer sample id", "received on", "sampled on", "measured on", "conclusion"),
        *("evidence digest", "ledger", "program"),
    }
)
_SIGNS = str.maketrans(dict.fromkeys(",\N{RIGHT SINGLE QUOTATION MARK}", "."))


def answers(case: Case) -> Faults:
    """Every line of the specification has its result, in order; conclusion and dates follow from them."""
    evidence = case.evidence
    facts = evidence.certificate
    asked = [
        (line.element, line.quantity, line.basis, line.expressed_as) for line in evidence.specification.requirements
    ]
    asked = in_order(asked, lambda line: line[0], evidence.form.order)
    results = [basis.result for basis in evidence.results]
    lines = lines_of(evidence)
    given = [(result.element, result.quantity, result.basis, result.expressed_as) for result in results]
    if facts.others:  # they report the rest, and the page says so
        asked = [line for line in asked if line in given]
    if asked != given:
        lacking = [_line_words(*line) for line in asked if line not in given]
        yield f"the specification's lines and the results differ; without a result: {', '.join(lacking) or 'none'}."
    yield from _sums_asked(evidence)
    if facts.conclusion != conclusion_for(lines):
        yield f"it concludes {facts.conclusion!r}; its results say {conclusion_for(lines)!r}."
    days = sorted(run.facts.measured_at[:10] for run in evidence.runs)
    if (facts.measured_from, facts.measured_to) != (days[0], days[-1]):
        yield f"it says measured {facts.measured_from} to {facts.measured_to}, its runs {days[0]} to {days[-1]}."


def _sums_asked(evidence: Evidence) -> Faults:
    """One that reports some lines only has the sums whose parts it has."""
    asked = [one.id for one in evidence.specification.sums]
    given = [one.name for one in evidence.sums]
    if evidence.certificate.others:
        asked = [name for name in asked if name in given]
    if asked != given:
        lacking = [name for name in asked if name not in given]
        yield f"the specification's sums and those given differ; without a sum: {', '.join(lacking) or 'none'}."


def _line_words(element: str, quantity: str, basis: str, expressed_as: str) -> str:
    return f"{element} ({quantity.replace('_', ' ')}{stated_as(basis, expressed_as)})"


def rows(case: Case) -> Faults:
    """Each result's row stands on the page, every character in order, and the rows in their order."""
    evidence = case.evidence
    if same_wording(case):
        if with_printed(evidence).printed != evidence.printed:
            yield "the rows that the evidence says are printed are not those that follow from its results."
    else:
        yield from _values_in_rows(case)
    places = []
    for line, row in zip(lines_of(evidence), evidence.printed, strict=True):
        place = _place(row.tokens, case.pages)
        if place is None:
            signs = ", but with another sign in a number" if _place(row.tokens, case.pages, _one_sign) else ""
            stands = f"stands on the page{signs}" if signs else "does not stand on the page"
            yield f"{_called(line)}: the row {' '.join(row.tokens)!r} {stands}."
        else:
            places.append(place)
    if places != sorted(places):
        yield "the rows of the results stand in another order."


def changes(case: Case) -> Faults:
    """An amendment marks what it prints otherwise, by texts that stand on its page; nothing else marks anything."""
    yield from form_unknown(case)
    if same_wording(case):
        yield from wrongly_marked(case.evidence)


def same_wording(case: Case) -> bool:
    """Whether this program words a page as the one that printed this one did."""
    return case.evidence.wording in REPRODUCED


def known_wording(case: Case) -> bool:
    """Whether this program or one before it ever worded a page so. Any other number says nothing about the page."""
    return same_wording(case) or case.evidence.wording in IN_PART


def form_unknown(case: Case) -> Faults:
    """A doubt where nobody here knows how the page is worded: then no sentence of it is held to anything."""
    if not known_wording(case):
        yield Doubt(
            f"the page states form {case.evidence.wording} of its words; this program words by form {WORDING} and does "
            "not know that one: the rows of the results were compared, and nothing else. Use a benchseal that knows it."
        )


def wording_words(case: Case) -> str:
    """What is said when nothing is wrong with the wording."""
    if same_wording(case):
        return "names, numbers, conclusion and signatures on the page fit."
    return (
        f"the page was worded by form {case.evidence.wording}, this program words by form {WORDING}: "
        "the rows of the results, names, numbers and the conclusion were compared, other sentences rest on the seal."
    )


def _values_in_rows(case: Case) -> Faults:
    """For a page worded by another form: each row still holds its value, then its uncertainty, as calculated."""
    evidence = case.evidence
    if len(evidence.printed) != len(lines_of(evidence)):
        yield "the evidence does not say one printed row for each result."
        return
    for line, row in zip(lines_of(evidence), evidence.printed, strict=True):
        printed = bare("".join(row.tokens))
        place = 0
        for text in (getattr(line.outcome, "value_text", ""), getattr(line.outcome, "expanded_text", "")):
            place = printed.find(bare(text), place) + len(bare(text))
            if place < len(bare(text)):
                yield f"{_called(line)}: the printed row {' '.join(row.tokens)!r} does not hold {text}."
                break
        if row.result_id != line_id(line):
            yield f"{_called(line)}: the printed row belongs to another result."


def _called(line: Line) -> str:
    return line.element if isinstance(line, WorkedResult) else f"sum {line.name}"


def wording(case: Case) -> Faults:
    """Everything else the evidence makes the page say stands there: facts, sentences, checks, signatures."""
    yield from form_unknown(case)
    if not known_wording(case):
        return
    view, same = _view(case), same_wording(case)
    pages = tuple(map(bare, case.pages))
    for name, text in page_texts(view) if same else _facts(view):
        if text and not _stands(text, pages):
            said = f"the page does not say {name} {text!r}."
            yield said if same else Doubt(said)  # an earlier form may have said it in other words


def _facts(view: CertificateView) -> Iterator[tuple[str, str]]:
    """Of a page worded by an earlier form: what every form printed alike."""
    yield from ((name, text) for name, text in page_texts(view) if name in _PRINTED_ALIKE)
    for person in view.signatures:
        yield "signature", person.name
        yield "signature", person.digest_start


@lru_cache(maxsize=1)  # two looks ask for it, one after the other
def _view(case: Case) -> CertificateView:
    """What the page is due to say."""
    return view_of(
        case.evidence,
        release=case.supplement.release,
        checkpoint=case.supplement.checkpoint,
        evidence_digest=case.evidence_sha256,
    )


def nothing_else(case: Case, flow: Flow) -> Faults:
    """The pages say what follows from the evidence, in that order, and not a word more."""
    yield from form_unknown(case)
    if same_wording(case):
        view = _view(case)
        due, own = due_flow(page_html(view), view.logo), bool(case.evidence.template)
        yield from flow_faults(flow, due, view.number, view.laboratory.name, view.foot, own_layout=own)


def nothing_else_words(case: Case) -> str:
    """What is said when nothing is wrong with the pages as a whole."""
    return (
        "every word of the pages, in order, follows from the evidence." if same_wording(case) else wording_words(case)
    )


def page_texts(view: CertificateView) -> Iterator[tuple[str, str]]:
    """Every text the page must hold beside the result rows, with what it is; empty ones are not printed."""
    item, conformity, provenance = view.item, view.conformity, view.provenance
    yield "title", view.title
    yield "certificate", view.number
    yield "date of issue", view.issued_on
    yield "laboratory", view.laboratory.name
    yield "accreditation", view.accreditation
    yield "foot", view.foot
    yield "customer", view.customer.name
    for field in fields(item):
        yield field.name.replace("_", " "), getattr(item, field.name)
    yield "conclusion", conformity.conclusion
    yield "specification", conformity.specification
    yield "decision rule", conformity.decision_rule
    yield "uncertainty", view.uncertainty
    yield "deviations", view.deviations
    yield "background", view.uncorrected
    yield "relation", view.relation.words if view.relation else ""
    yield "relation", view.in_part
    for change in view.changes:
        yield "change", f"{change.place} {change.before} {change.after}"
    yield "evidence digest", provenance.evidence_digest
    yield "ledger", provenance.ledger_id
    yield "program", provenance.program
    for text in (*view.notes, *view.opinions, *view.limits_and_cautions):
        yield "sentence", text
    for row in view.results:
        yield f"under {row.substance}", row.detail
    for person in view.signatures:
        yield "signature", f"{person.name}, {person.role}. {person.meaning}"
        yield "signature", person.digest_start
    for panel in view.runs:
        yield from _panel_texts(panel)


def _panel_texts(panel: RunPanel) -> Iterator[tuple[str, str]]:
    yield "run", f"{panel.heading} {panel.run}"
    yield "fit", panel.fit_line
    for line in panel.checks:
        yield "check", f"{line.check} {line.found} {line.limits} {line.verdict}"


def stands(text: str, pages: tuple[str, ...]) -> bool:
    """Whether a text stands on the pages, white space apart, over a break of pages too."""
    return _stands(text, tuple(map(bare, pages)))


def _stands(wanted: str, pages: tuple[str, ...]) -> bool:
    """Whether a text stands on one page, or begins on one and ends on the next or, over whole pages, on a later one.

    wanted: with its white space; pages: without. A single word stands on one page: else its first letter on one and its
    others anywhere on the next were enough.
    """
    whole = bare(wanted)
    if any(whole in page for page in pages):
        return True
    return len(wanted.split()) > 1 and any(_runs_on(whole, pages[place:]) for place in range(len(pages)))


def _runs_on(wanted: str, pages: tuple[str, ...]) -> bool:
    """Whether a text begins on the first of ``pages`` and goes on over the following ones to its end."""
    for place, page in enumerate(pages):
        if wanted in page:
            return place > 0
        kept = _beginning(wanted, page)
        # a page in between is filled by the text: of a table of two columns, by a good part of it
        if not kept or (place and 4 * kept < len(page)):
            return False
        wanted = wanted[kept:]
    return False


def _beginning(wanted: str, page: str) -> int:
    """Length of the longest beginning that stands on ``page``: containing a text means containing its beginnings."""
    return bisect_left(range(len(wanted)), 1, key=lambda length: wanted[: length + 1] not in page)


def _one_sign(text: str) -> str:
    """Without white space, and with one sign for every sign in a number."""
    return bare(text).translate(_SIGNS)


def _place(words: tuple[str, ...], pages: tuple[str, ...], form: Callable[[str], str] = bare) -> tuple[int, int] | None:
    """Page and place of a row, every character in order, white space apart; a row is never broken over pages."""
    wanted = form("".join(words))
    for number, page in enumerate(pages):
        place = form(page).find(wanted)
        if place >= 0:
            return number, place
    return None
