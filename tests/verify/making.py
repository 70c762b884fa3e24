"""A whole site in memory, invented: two customers in one run, signed, ledgered, ready to render and to seal.

``make`` walks the way the desk walks, from runs to supplement, and ``Plan`` lets a test lie at any one step while
everything after it is made honestly of the lie. Figures come from ``tests/compute/making.py``; they are evidence of
nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tests.compute.making import (
    ALL_RULES,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    run_of,
    samples,
    standards,
)

from benchseal.certificate.blocks import block_tree, result_bases, run_manifest
from benchseal.certificate.conclude import conclusion_for
from benchseal.certificate.evidence import Content, RunPart, build_content, content_digest, with_signatures
from benchseal.certificate.present import view_of, with_printed
from benchseal.certificate.view import CertificateView, printed_tokens
from benchseal.compute.run_work import work_run
from benchseal.compute.sums import Addend, worked_sum
from benchseal.identity.statements import sign_statement
from benchseal.ledger.blocks import HeldTree, held_tree
from benchseal.ledger.checkpoints import checkpoint_json, make_checkpoint
from benchseal.ledger.checkpoints import key_id as name_of_key
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.tree import prove_inclusion
from benchseal.records.canonical import digest
from benchseal.records.entries import Entry, entry_body
from benchseal.records.evidence import (
    CertificateFacts,
    CheckpointRecord,
    EntryProof,
    Evidence,
    Laboratory,
    Supplement,
)
from benchseal.records.known import Bench
from benchseal.records.manifest import Packet, PacketRun
from benchseal.records.people import Role
from benchseal.records.registers import Customer, Sample, SampleRow
from benchseal.records.results import CALCULATION_RULES, RunWork
from benchseal.records.run import DocumentRef
from benchseal.records.shape import plain_of, record_bytes, record_of
from benchseal.records.signatures import Meaning, Signature, SignatureStatement
from benchseal.records.specification import Requirement, Specification, SumRequirement
from benchseal.verify.page import page_texts
from benchseal.verify.trust import Trust, TrustedKey

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.run import Run

T = TypeVar("T")

LEDGER = "bs-1f00d0c0ffee1f00"
NUMBER = "C-2026-00007"
OURS, THEIRS = "S-00001", "S-00002"
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
PUBLIC = KEY.public_key().public_bytes_raw()

# Everything by which the other customer could be known: none of it may leave in the first one's certificate.
SECRETS = ("Brightwater", "BW-2291", THEIRS, "T-BW/1", "T-BW/2", "T-BW/1 add", "sachet", "brightwater", "Quayside Row")
OTHER_READINGS = (
    "0.0241973",
    "0.0241974",
    "0.0241979",
    "0.0263318",
    "0.0263321",
    "0.0263327",
    "0.0391173",
    "0.0391179",
)


def as_is(value: T) -> T:
    """No lie."""
    return value


@dataclass(frozen=True, slots=True)
class Plan:
    """What may be otherwise. The functions lie about what their step made; the rest is honest about the lie.

    filed: the run as the block tree gets it, the calculation having seen the true one. rules: calculation rules stated.
    people: by meaning. approved: digest signed instead of the content's. statement: each statement before signing.
    without: meanings whose signatures the evidence leaves out. shown: further entries whose proofs are shown.
    """

    filed: Callable[[Run], Run] = as_is
    rules: int = CALCULATION_RULES
    work: Callable[[RunWork], RunWork] = as_is
    content: Callable[[Evidence], Evidence] = as_is
    evidence: Callable[[Evidence], Evidence] = as_is
    supplement: Callable[[Supplement], Supplement] = as_is
    entries: Callable[[list[Entry]], list[Entry]] = as_is
    statement: Callable[[SignatureStatement], SignatureStatement] = as_is
    people: tuple[tuple[Meaning, str], ...] = (
        (Meaning.PERFORMED, "p-ines.falkner"),
        (Meaning.REVIEWED, "p-maren.oduya"),
        (Meaning.APPROVED, "p-jonas.lind"),
        (Meaning.RELEASED, "p-jonas.lind"),
    )
    approved: str = ""
    without: frozenset[Meaning] = frozenset()
    shown: frozenset[int] = frozenset()
    key: Ed25519PrivateKey = KEY


@dataclass(frozen=True, slots=True)
class Made:
    """What was made: the two files a certificate carries, as records and bytes, and the head they stand under."""

    evidence: Evidence
    supplement: Supplement
    evidence_bytes: bytes
    supplement_bytes: bytes

    def view(self) -> CertificateView:
        """What the page says of it."""
        return view_of(
            self.evidence,
            release=self.supplement.release,
            checkpoint=self.supplement.checkpoint,
            evidence_digest=digest(self.evidence_bytes),
        )

    def pages(self) -> tuple[str, ...]:
        """One page that says everything the view says, as text; stands in for the PDF where no PDF is needed."""
        view = self.view()
        rows = [" ".join(printed_tokens(row)) for row in view.results]
        return ("\n".join((*rows, *(text for _, text in page_texts(view)))),)


def one_reading_changed(run: Run) -> Run:
    """A lie for ``Plan.filed``: the first reading of the first customer's portion."""
    place = run.document.solutions.first_reading[run.document.solutions.label.index("T-A1/1")]
    signals = list(run.document.readings.signal)
    signals[place] = "0.0163000"
    return replace(run, document=replace(run.document, readings=replace(run.document.readings, signal=tuple(signals))))


def trust(public: bytes = PUBLIC, ledger: str = LEDGER) -> Trust:
    """Trust in the ledger key; seals are added by tests that seal."""
    return Trust("Tern Quay Laboratory", ledger, (), (TrustedKey(name_of_key(public), public),))


def make(plan: Plan | None = None) -> Made:
    """Evidence and supplement of the first customer's certificate."""
    plan = plan or Plan()
    packets, signatures = _Signed(plan), []
    parts = parts_of(plan)
    listed = tuple(PacketRun(part.run_id, 1, digest(record_bytes(part.manifest))) for part in parts)
    submit, accept = Packet("packet/1", "submit", listed), Packet("packet/1", "accept", listed)
    built = replace(build_content(_content(parts, (submit, accept)), parts), calculation_rules=plan.rules)
    content = plan.content(with_printed(built))
    for packet, kind, meaning, role in (
        (submit, "run.submitted", Meaning.PERFORMED, Role.ANALYST),
        (accept, "run.reviewed", Meaning.REVIEWED, Role.REVIEWER),
    ):
        name = digest(record_bytes(packet))
        signed = packets.sign(meaning, role, f"packet/{name[:16]}", name)
        signatures.append(signed)
        for run in packet.runs:
            packets.write(kind, f"run/{run.run}", signed, {"manifest": run.manifest, "packet": name})
    subject, approves = f"certificate/{NUMBER}", plan.approved or content_digest(content)
    signed = packets.sign(Meaning.APPROVED, Role.APPROVER, subject, approves)
    packets.write("certificate.approved", subject, signed, {"content": approves})
    signatures.append(signed)
    kept = [one for one in signatures if one.statement.meaning not in plan.without]
    evidence = plan.evidence(with_signatures(content, kept))
    name = digest(record_bytes(evidence))
    release = packets.sign(Meaning.RELEASED, Role.APPROVER, subject, name)
    packets.write("certificate.sealing", subject, release, {"evidence": name})
    supplement = plan.supplement(_supplement(plan, packets, evidence, release))
    return Made(evidence, supplement, record_bytes(evidence), record_bytes(supplement))


class _Signed:
    """The ledger as it grows, and everybody's signatures in it."""

    def __init__(self, plan: Plan) -> None:
        self._plan, self._people = plan, dict(plan.people)
        self.entries: list[Entry] = [self._other(seq) for seq in range(1, 12)]

    def sign(self, meaning: Meaning, role: Role, subject: str, name: str) -> Signature:
        """A signature of whoever the plan names."""
        person = self._people[meaning]
        statement = SignatureStatement(
            ledger=LEDGER,
            person=person,
            printed_name=person.removeprefix("p-").replace(".", " ").title(),
            role=role.value,
            meaning=meaning.value,
            subject=subject,
            version=1,
            digest=name,
            at=self._now(),
            zone="Europe/Berlin",
        )
        told = self._plan.statement(statement)
        return Signature(told, sign_statement(told))

    def write(self, kind: str, subject: str, signature: Signature, digests: dict[str, str]) -> None:
        """The entry a signature comes with."""
        self.entries.append(
            Entry(
                seq=len(self.entries) + 1,
                kind=kind,
                at=signature.statement.at,
                actor=signature.statement.person,
                subject=subject,
                facts={"version": 1, "signature": plain_of(signature)},
                digests=digests,
            )
        )

    def _now(self) -> str:
        return f"2026-03-04T14:{len(self.entries):02d}:11.000Z"

    def _other(self, seq: int) -> Entry:
        """An entry of somebody else's business."""
        return Entry(seq, "sample.added", "2026-03-01T08:00:00.000Z", "p-ines.falkner", f"sample/S-000{seq:02d}")


def _supplement(plan: Plan, packets: _Signed, evidence: Evidence, release: Signature) -> Supplement:
    entries = plan.entries(packets.entries)
    tree = held_tree([record_hash(entry_body(entry)) for entry in entries])
    head = make_checkpoint(
        ledger=LEDGER,
        size=tree.size,
        root=tree.root,
        at="2026-03-04T15:00:00.000Z",
        public_key=plan.key.public_key().public_bytes_raw(),
        sign=plan.key.sign,
    )
    seen: set[str] = set()
    proofs = []
    for entry in entries:
        signed = entry.facts.get("signature")
        name = str(signed["signature"]) if isinstance(signed, dict) else ""
        if (name and name not in seen) or entry.seq in plan.shown:
            seen.add(name)
            proofs.append(proof_of(entry, tree))
    kept = {one.signature for one in (*evidence.signatures, release)}
    return Supplement(
        schema="supplement/1",
        evidence_sha256=digest(record_bytes(evidence)),
        release=release,
        checkpoint=record_of(CheckpointRecord, checkpoint_json(head)),
        entries=tuple(
            proof for proof in proofs if "signature" not in proof.body or any(name in proof.body for name in kept)
        ),
    )


def proof_of(entry: Entry, tree: HeldTree) -> EntryProof:
    """An entry with its path in the tree."""
    path = prove_inclusion(entry.seq - 1, tree.size, tree)
    return EntryProof(entry_body(entry).decode(), tuple(node.hex() for node in path))


def parts_of(plan: Plan) -> list[RunPart]:
    """The two runs, calculated, cut into leaves and fixed."""
    return [_part(f"R-0000{number}", run, plan) for number, run in enumerate(_runs(), start=1)]


def _part(number: str, run: Run, plan: Plan) -> RunPart:
    found = bench()
    worked = work_run(run, found)
    assert isinstance(worked, RunWork), worked
    told = plan.work(worked)
    work = replace(told, results=tuple(replace(one, calculation_rules=plan.rules) for one in told.results))
    secret = digest(number.encode()).encode()[:32]
    filed = plan.filed(run)
    blocks = block_tree(number, filed, secret)
    lots = tuple(found.lots[lot] for lot in run.standard_lots)
    bases = result_bases(work, blocks, found.portions, lots, secret)
    manifest = replace(run_manifest(number, 1, filed, work, blocks, bases, ""), calculation_rules=plan.rules)
    return RunPart(number, filed, work, manifest, blocks, bases, found.portions, lots)


def _content(parts: Sequence[RunPart], packets: tuple[Packet, ...]) -> Content:
    found = bench()
    ref, specification = found.specifications["lozenge"]
    chosen = [(part.run_id, basis.result) for part in parts for basis in part.bases if basis.result.sample == OURS]
    factors = {part.run_id: part.run.method.uncertainty.coverage_factor for part in parts}
    addends = [Addend(result, factors[run]) for run, result in chosen]
    sums = tuple(worked_sum(LEDGER, OURS, asked, ref, addends) for asked in specification.sums)
    return Content(
        ledger=LEDGER,
        certificate=CertificateFacts(
            number=NUMBER,
            kind="original",
            first=NUMBER,
            replaces="",
            reason="",
            laboratory=Laboratory("Tern Quay Laboratory", "4 Tern Quay\n27570 Seehafen", "Europe/Berlin"),
            customer=Customer("alder", "Alder & Finch Lozenges", "18 Mill Lane\n26121 Oldburg", "qa@alder.invalid"),
            sample=found.samples[OURS],
            measured_from="2026-03-02",
            measured_to="2026-03-02",
            conclusion=conclusion_for([*(result for _, result in chosen), *sums]),
            deviations=(),
            comments=(),
        ),
        specification=specification,
        specification_ref=ref,
        results=tuple((run, result.result_id) for run, result in chosen),
        packets=packets,
        sums=sums,
    )


def bench() -> Bench:
    """Portions, samples, specifications and standards of both customers."""
    portions = [_labelled(one) for one in _portions()]
    plain = bench_of(portions)
    return Bench(
        ledger=LEDGER,
        portions=plain.portions,
        samples={
            OURS: Sample(OURS, _row("A-1", "alder", "lozenge", "AF-77120")),
            THEIRS: Sample(THEIRS, _row("BW-2291", "brightwater", "sachet", "Quayside Row 7")),
        },
        specifications={
            name: _specification(name, requirements)
            for name, requirements in (
                ("lozenge", (_lead_line(), requirement_of(element="Cd", methods=("cd-furnace",)))),
                ("sachet", (requirement_of(upper="0.20", rule="guarded"),)),
            )
        },
        lots=plain.lots,
    )


def _portions() -> list[Portion]:
    return [
        portion_of("T-MB", "", kind="method_blank", mass_g=""),
        portion_of("T-CS", "", kind="control_sample", added_ug={"Pb": "0.25", "Cd": "0.25"}),
        portion_of("T-A1/1", OURS),
        portion_of("T-A1/2", OURS, mass_g="0.5031"),
        portion_of("T-BW/1", THEIRS, mass_g="0.4987"),
        portion_of("T-BW/2", THEIRS, mass_g="0.5013"),
        portion_of("T-BW/1 add", THEIRS, kind="spiked_sample", spike_of="T-BW/1", added_ug={"Pb": "0.125"}),
    ]


def _labelled(portion: Portion) -> Portion:
    both = replace(portion, elements=("Pb", "Cd"), prepared_by="p-ines.falkner")
    return both if portion.sample != THEIRS else replace(both, elements=("Pb",))


def _row(lot: str, customer: str, specification: str, theirs: str) -> SampleRow:
    return SampleRow(
        lot=lot,
        product="Mineral lozenge 2.50 g" if customer == "alder" else "Brightwater drink",
        customer=customer,
        specification=specification,
        customer_sample_id=theirs,
        description="lozenge, pressed",
        condition="sealed pouch, dry",
        quantity_received="40 pieces",
        received_on="2026-02-27",
        sampled_on="2026-02-25",
        sampled_by=customer,
        order="",
    )


def _lead_line() -> Requirement:
    """The first customer's line for lead; tests of single portions ask more."""
    return requirement_of(portions=2)


def _sums() -> tuple[SumRequirement, ...]:
    """None; tests of sums ask for some."""
    return ()


def _specification(name: str, requirements: tuple[Requirement, ...]) -> tuple[DocumentRef, Specification]:
    record = Specification(
        kind="specification",
        id=name,
        title=f"Mineral {name}",
        product=name,
        customer="alder" if name == "lozenge" else "brightwater",
        unit_name=name,
        agreed="agreed in writing before the first lot",
        requirements=requirements,
        sums=_sums() if name == "lozenge" else (),
    )
    return DocumentRef(name, 3, digest(record_bytes(record))), record


def method(element: str) -> Method:
    """Lead or cadmium by furnace, on the same invented curve."""
    if element == "Pb":
        return pb_method(checks=tuple(rule for rule in ALL_RULES if rule.check != "reference_material"))
    rules = tuple(rule for rule in ALL_RULES if rule.check in {"second_source", "check_standard", "check_blank"})
    return pb_method(id="cd-furnace", title="Cadmium by furnace", element="Cd", wavelength_nm="228.8", checks=rules)


def _runs() -> tuple[Run, Run]:
    """Lead over both customers' portions in turn; cadmium over the first one's alone."""
    second = Shot("second_source", "SB", 9.9)
    theirs = (
        Shot("sample", "T-BW/1", portion="T-BW/1", signals=OTHER_READINGS[:3]),
        Shot("sample", "T-BW/2", portion="T-BW/2", signals=OTHER_READINGS[3:6]),
        Shot("spiked_sample", "T-BW/1 add", portion="T-BW/1 add", signals=(*OTHER_READINGS[6:], "0.0391182")),
    )
    ours = samples(("T-A1/1", "T-A1/2"), 5.0)
    own = (
        Shot("method_blank", "T-MB", 0.05, portion="T-MB"),
        Shot("control_sample", "T-CS", 9.7, portion="T-CS"),
    )
    lead = (*standards(), second, *pair(), *own, ours[0], theirs[0], ours[1], *theirs[1:], *pair(10.1))
    cadmium = (*standards(), second, *pair(), *samples(("T-A1/1", "T-A1/2"), 0.3), *pair(9.8))
    return _bound(lead, method("Pb")), _bound(cadmium, method("Cd"))


def _bound(shots: tuple[Shot, ...], used: Method) -> Run:
    return replace(run_of(shots, used), method_ref=DocumentRef(used.id, 2, digest(record_bytes(used))))
