"""A certificate ready to be drafted: its number, its evidence without signatures, and what an amendment changes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.certificate.blocks import block_tree
from benchseal.certificate.changes import changed_texts
from benchseal.certificate.conclude import conclusion_for
from benchseal.certificate.evidence import Content, RunPart, build_content
from benchseal.certificate.issue import draft_problems
from benchseal.certificate.present import with_printed
from benchseal.desk.exceptions import exceptions_in_force, signed_exception
from benchseal.desk.gathering import look_for
from benchseal.desk.given_opinions import opinions_about
from benchseal.desk.printed_by import printed_by
from benchseal.desk.reading import load
from benchseal.desk.rehearsing import rehearse
from benchseal.desk.reportable import (
    sentences,
)
from benchseal.desk.runs import run_secret
from benchseal.desk.samplers import require_sampler_plain
from benchseal.desk.signers import require_signers_printable, signatures_of_packets
from benchseal.desk.site_rules import rules_in_force
from benchseal.desk.standing import lots_in, portions_in, version_for
from benchseal.desk.sums import sums_of
from benchseal.problems import Finding, Refusal, Stopped
from benchseal.records.corrections import RunBench
from benchseal.records.evidence import CertificateFacts, Evidence, Laboratory
from benchseal.records.ids import certificate_number, later_number
from benchseal.records.manifest import Manifest, Packet, ResultBasis
from benchseal.records.preparation import Portion
from benchseal.records.printed_form import in_order
from benchseal.records.registers import Customer, Sample
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.asked import Asked
    from benchseal.desk.printed_by import PrintedBy
    from benchseal.records.exceptions import SignedException
    from benchseal.store.protocol import Reading, Row


@dataclass(frozen=True, slots=True)
class Gathered:
    """A certificate ready to be drafted."""

    content: Evidence
    year: int
    count: int


def gather(  # noqa: PLR0913  the last two by name
    acting: Acting,
    sample_row: Row,
    asked: Asked,
    comment: str,
    before: Evidence | None = None,
    *,
    simplified: bool = False,
) -> Gathered:
    """Everything for a new certificate of a sample. Raises Stopped with every blocker at once.

    before: the evidence of the certificate an amendment replaces. simplified: in simplified form; an amendment has the
    form of what it replaces while the specification still names the agreement.
    """
    view = acting.tx
    agreement = _agreement(asked, before, wanted=simplified)
    refusals, found = look_for(view, sample_row, asked, comment)
    if refusals:
        raise Stopped(*refusals)
    by = printed_by(view, sample_row["customer"], before)
    found = in_order(found, lambda each: each.result.element, by.form.order)
    year = acting.moment.year
    number, count = _number(acting, asked, year)
    runs = list(dict.fromkeys(each.run for each in found))
    versions = {run: version_for(view, run, [each.basis for each in found if each.run == run]) for run in runs}
    parts = _agreed([_part(acting, run, versions[run]) for run in runs], view)
    results = [(each.run, each.result) for each in found]
    sums = sums_of(view, sample_row["sample"], asked.ref, asked.specification, results)
    conclusion = conclusion_for([*(each.result for each in found), *sums])
    behind = sentences(view, sample_row, [*(each.result for each in found), *sums])
    facts = _facts(view, acting, sample_row, (asked, number), conclusion, parts, (comment.strip(), *behind))
    facts = replace(facts, laboratory=_laboratory(facts.laboratory, by))
    content = Content(
        ledger=acting.site.ledger,
        certificate=replace(facts, simplified=agreement, paper=rules_in_force(view).paper),
        specification=asked.whole,
        specification_ref=asked.ref,
        results=tuple((each.run, each.result.result_id) for each in found),
        packets=_packets(view, list(versions.values())),
        sums=sums,
        exceptions=_exceptions(acting, list(versions.values())),
        opinions=opinions_about(view, sample_row["sample"], [each.basis for each in found]),
        form=by.form,
        form_ref=by.form_ref,
        letterhead=by.letterhead,
        letterhead_ref=by.letterhead_ref,
        template=by.template,
        template_ref=by.template_ref,
    )
    built = with_printed(build_content(content, parts))
    require_sampler_plain(view, built)
    if problems := draft_problems(built):
        raise Stopped(*problems)
    require_signers_printable(signatures_of_packets(view, built))
    marked = _marked(view, built, asked, before)
    rehearse(marked)
    return Gathered(marked, year, count)


def _agreement(asked: Asked, before: Evidence | None, *, wanted: bool) -> str:
    """By which agreement a certificate is simplified, or nothing. Raises Stopped where none is named."""
    agreed = asked.whole.simplified_agreed.strip()
    if wanted and not agreed:
        what = (
            f"specification {asked.ref.id} version {asked.ref.version} names no agreement to a simplified certificate."
        )
        remedy = (
            "Agree on it with the customer and name it there (simplified_agreed), or draft the certificate in full."
        )
        raise Stopped(Refusal("certificate.not-agreed", asked.ref.id, what, remedy))
    return agreed if wanted or (before is not None and before.certificate.simplified) else ""


def _number(acting: Acting, asked: Asked, year: int) -> tuple[str, int]:
    """The number reserved for it: an original's is counted within the year, a later one's within its series."""
    if asked.kind == "original":
        count = acting.count(f"certificate/{year}")
        return certificate_number(year, count), count
    count = acting.count(f"certificate/{asked.first}/{asked.kind}")
    return later_number(asked.first, "A" if asked.kind == "amendment" else "S", count), count


def _marked(view: Reading, built: Evidence, asked: Asked, before: Evidence | None) -> Evidence:
    """An amendment with everything it prints otherwise. Raises Stopped where that is nothing."""
    if before is None:
        return built
    changed = changed_texts(before, built)
    if not changed:
        what = f"it would print what {asked.replaces} prints."
        raise Stopped(Refusal("certificate.nothing-changed", asked.replaces, what, _unchanged(view, asked.replaces)))
    return replace(built, replaced_sha256=asked.replaced_sha256, changed=changed)


def _unchanged(view: Reading, number: str) -> str:
    """What to do where an amendment would print the same: a withdrawn certificate is not justified, it is followed."""
    row = view.row("certificate", number=number)
    if row is not None and row["state"] == "withdrawn":
        return "Say with --comment that it is issued again and why: the comment is then what it prints otherwise."
    if row is not None and row["flag"]:
        return "An approver can sign with `benchseal certificate justify` why that one may stand."
    return "It may stand as it is. Where something it says is wrong, have that corrected and reviewed first."


def _part(acting: Acting, run: str, version: Row) -> RunPart:
    view = acting.tx
    bound, work = load(view, Run, version["bound"]), load(view, RunWork, version["work"])
    manifest, bench = load(view, Manifest, version["manifest"]), load(view, RunBench, version["bench"])
    blocks = block_tree(run, bound, run_secret(acting, run))
    if blocks.root != manifest.block_root:
        what = "its private secret is not the one its solutions were signed with."
        raise Stopped(
            Finding("integrity.run-secret", run, what, "Stop work, keep this copy, and compare with the last backup.")
        )
    portions = portions_in(view, bench)
    read = {*bound.portion, *((row.batch, row.portion) for result in work.results for row in result.portions)}
    return RunPart(
        run_id=run,
        run=bound,
        work=work,
        manifest=manifest,
        blocks=blocks,
        bases=tuple(load(view, ResultBasis, name) for name in manifest.results),
        portions={key: portion for key, portion in portions.items() if key in read},
        lots=tuple(lots_in(view, bench, bound)),
    )


def _agreed(parts: list[RunPart], view: Reading) -> list[RunPart]:
    """The runs with one text for each preparation row they share.

    Versions of a row differ between runs only in what none of the cited results rests on: a dilution corrected for
    one element. The row in force says all of it as it is now.
    """
    found: dict[tuple[str, str], Portion] = {}
    for part in parts:
        for key, portion in part.portions.items():
            if found.setdefault(key, portion) != portion:
                row = view.row("portion", batch=key[0], portion=key[1])
                found[key] = load(view, Portion, row["record"]) if row else portion
    return [replace(part, portions={key: found[key] for key in part.portions}) for part in parts]


def _facts(  # noqa: PLR0913, PLR0917  one step of ``gather``
    view: Reading,
    acting: Acting,
    sample_row: Row,
    named: tuple[Asked, str],
    conclusion: str,
    parts: Sequence[RunPart],
    comments: Sequence[str],
) -> CertificateFacts:
    site = view.row("site", ledger=acting.site.ledger)
    customer = view.row("customer", customer=sample_row["customer"])
    if site is None or customer is None:
        raise AssertionError("a sample is registered for a known customer of a founded site")
    asked, number = named
    measured = sorted(part.run.measured_at for part in parts)
    return CertificateFacts(
        number=number,
        kind=asked.kind,
        first=asked.first or number,
        replaces=asked.replaces,
        reason=asked.reason,
        laboratory=Laboratory(site["name"], site["address"], site["zone"]),
        customer=load(view, Customer, customer["record"]),
        sample=load(view, Sample, sample_row["record"]),
        measured_from=measured[0][:10],
        measured_to=measured[-1][:10],
        conclusion=conclusion,
        deviations=(),
        comments=tuple(filter(None, comments)),
        others=asked.others,
    )


def _laboratory(site: Laboratory, by: PrintedBy) -> Laboratory:
    """Who issues: by the letterhead where there is one."""
    return next((Laboratory(one.laboratory, one.address, site.zone) for one in by.letterhead), site)


def _exceptions(acting: Acting, versions: Sequence[Row]) -> tuple[SignedException, ...]:
    """Exceptions in force by which a reviewer of these runs may approve their certificate too."""
    view = acting.tx
    held = exceptions_in_force(view, acting.site, acting.moment, "reviewer_is_approver")
    reviewers = {
        signed["person"]
        for packet in dict.fromkeys(row["reviewed_packet"] for row in versions)
        for signed in view.rows("signature", digest=packet, meaning=Meaning.REVIEWED.value)
    }
    return tuple(signed_exception(view, held[person]) for person in sorted(reviewers & held.keys()))


def _packets(view: Reading, versions: Sequence[Row]) -> tuple[Packet, ...]:
    """Packets of the signatures that performed and reviewed each run's version shown."""
    names: dict[str, None] = {}
    for row in versions:
        shares = view.rows("run_share", run=row["run"], version=row["version"])
        names.update(dict.fromkeys((row["packet"], *(one["packet"] for one in shares), row["reviewed_packet"])))
    return tuple(load(view, Packet, name) for name in names)
