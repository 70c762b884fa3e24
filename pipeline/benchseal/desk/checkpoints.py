"""Checkpoints: signed tree heads, made after a commit and never over rows that are not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.clock import stamp
from benchseal.desk.keys import open_tree_key
from benchseal.ledger.checkpoints import Checkpoint, make_checkpoint, write_checkpoint
from benchseal.ledger.tree import tree_root

if TYPE_CHECKING:
    from benchseal.desk.site import Site


def make(site: Site) -> Checkpoint:
    """Sign the ledger as it is now, and keep the checkpoint. Raises Stopped without the key."""
    with site.store.reading() as view:
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
    return made
