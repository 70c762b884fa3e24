"""Checkpoints: signed tree heads, made after a commit and never over rows that are not."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from benchseal.desk.clock import stamp
from benchseal.desk.keys import open_tree_key
from benchseal.ledger.checkpoints import Checkpoint, make_checkpoint, parse_checkpoint, write_checkpoint
from benchseal.ledger.tree import prove_consistency, tree_root
from benchseal.ledger.witness import Growth
from benchseal.problems import Problem, Stopped
from benchseal.records.canonical import parse_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading

T = TypeVar("T")


def make(site: Site) -> Checkpoint:
    """Sign the ledger as it is now, and keep the checkpoint. Raises Stopped without the key."""
    return make_with(site, lambda _: None)[0]


def make_with(site: Site, look: Callable[[Reading], T]) -> tuple[Checkpoint, T]:
    """``make``, with what ``look`` finds in exactly the state that is signed."""
    with site.store.reading() as view:
        found = look(view)
        row = view.row("site", ledger=site.ledger)
        if row is None:
            raise AssertionError("a site has a founding entry")
        size = view.size()
        root = tree_root(size, view)
    key = open_tree_key(site.private, row["tree_key_id"])
    made = make_checkpoint(
        ledger=site.ledger,
        size=size,
        root=root,
        at=stamp(site.clock()),
        public_key=key.public_key().public_bytes_raw(),
        sign=key.sign,
    )
    with site.store.writing() as tx:
        tx.keep_checkpoint(size, write_checkpoint(made).decode())
    return made, found


def growth(site: Site, checkpoint: Checkpoint, since: int) -> Growth:
    """``checkpoint`` with the proof that it begins with the ledger of ``since`` entries. Raises Stopped."""
    if not 0 <= since <= checkpoint.size:
        what = f"the ledger has {checkpoint.size} entries; it does not begin with {since}."
        raise Stopped(Problem("checkpoint.since", "--since", what, "Give the size of the last head the witness saw."))
    with site.store.reading() as view:
        return Growth(checkpoint, since, prove_consistency(since, checkpoint.size, view))


def of_certificate(pdf: bytes, where: str) -> Checkpoint:
    """The checkpoint an issued certificate carries. Raises Stopped where its own seal does not hold.

    Whose seal it is does not matter here: the checkpoint is signed itself, and ``verify_site`` looks at that.
    """
    from benchseal.certificate.read_pdf import SealedPdf, open_certificate  # noqa: PLC0415  heavy, seldom needed
    from benchseal.certificate.seal_bytes import Frame, Signer, cut_at_seal, read_signer  # noqa: PLC0415

    frame = cut_at_seal(pdf)
    signer = read_signer(frame) if isinstance(frame, Frame) else (frame,)
    opened = open_certificate(pdf, {signer.fingerprint}) if isinstance(signer, Signer) else signer
    if not isinstance(opened, SealedPdf):
        raise Stopped(*(replace(each, where=where) for each in opened))
    supplement = parse_json(opened.supplement)
    found = parse_checkpoint(supplement.get("checkpoint") if isinstance(supplement, dict) else None, where)
    if isinstance(found, tuple):
        raise Stopped(*found)
    return found
