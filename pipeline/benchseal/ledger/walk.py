"""Walking the whole ledger: every hash again, the first bad item by name, and the root at every size asked for.

The walk trusts nothing it is given but the ledger's id. Where rows disagree it says which column of which entry is
the odd one, as far as the rows themselves can tell; a history rewritten with all its hashes holds together, and only
a checkpoint kept elsewhere shows it (``against_checkpoints``).
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from benchseal.ledger.checkpoints import fork
from benchseal.ledger.growing import BLOCK, Growing, Listed
from benchseal.ledger.hashes import CHAIN, EMPTY_ROOT, LEAF, Hash, first_head, is_hash, next_head, record_hash
from benchseal.ledger.tree import EMPTY, root_of
from benchseal.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from benchseal.ledger.checkpoints import Checkpoint
    from benchseal.ledger.growing import KeptNodes
    from benchseal.ledger.tree import Frontier

_STOP = "Stop work, keep this copy as it is, and compare with the last backup and the checkpoints kept elsewhere."


class Row(NamedTuple):
    """One ledger row as stored. Any tuple of this shape will do."""

    seq: int
    body: bytes
    leaf: Hash
    head: Hash


class Start(NamedTuple):
    """Where a walk sets out that is not from the first entry: chain head and frontier there, as stored.

    Nobody has checked them: such a walk is worth something once another one, from the first entry, has ended there.
    """

    head: Hash
    frontier: Frontier


class Part(NamedTuple):
    """Which rows a walk is given: those after ``start`` (None: from the first on), and whether none follow the last."""

    start: Start | None = None
    to_the_end: bool = True


WHOLE = Part()


@dataclass(frozen=True, slots=True)
class Walk:
    """What a walk saw.

    size: rows met. head: chain head of the last row as stored (the first head for an empty ledger). root and roots
    (by size, for the sizes asked for and reached): recomputed from the bodies alone. findings: first bad item first,
    at most ``FINDINGS_LISTED`` and then one that says how many more.
    """

    ledger: str
    size: int
    head: Hash
    frontier: Frontier
    roots: dict[int, Hash]
    findings: tuple[Finding, ...]

    @property
    def root(self) -> Hash:
        """Merkle tree hash over all bodies met."""
        return root_of(self.frontier)

    def root_at(self, size: int) -> Hash:
        """Root at one of the sizes the walk was asked for; at most ``size`` of the ledger."""
        if size not in self.roots:
            raise AssertionError(f"the walk was not asked for the root at {size}")
        return self.roots[size]


def walk(
    ledger: str,
    rows: Iterable[Row | tuple[int, bytes, bytes, bytes]],
    sizes: Collection[int] = (),
    kept: KeptNodes | None = None,
    part: Part = WHOLE,
) -> Walk:
    """Check rows, given in order of seq, and note the root at each of ``sizes`` (those of the checkpoints at hand).

    kept: the subtrees kept beside the rows, to be compared with those that follow from the bodies. Rows go by blocks:
    one that holds as a whole is done with; row by row only where something in it does not. part: where the rows
    given are not all there are.
    """
    stops = sorted(frozenset(sizes))
    roots = {0: EMPTY_ROOT} if 0 in stops and part.start is None else {}
    begun = part.start or Start(first_head(ledger), EMPTY)
    chain = _Chain(begun.frontier.size + 1, (begun.head,))
    tree, findings = Growing(kept, begun.frontier), Listed("entries")
    coming = iter(rows)
    while block := list(islice(coming, _until(stops, tree.size))):
        leaves = chain.follow_all(block)
        if leaves is None:
            leaves = []
            for row in block:
                seq, body, leaf, head = row[0], *map(as_bytes, row[1:])
                leaves.append(record_hash(body))
                findings.add(chain.follow(seq, leaf, leaves[-1], head))
        tree.add(leaves)
        if tree.size in stops:
            roots[tree.size] = root_of(tree.frontier)
    if part.to_the_end:
        tree.finish()
    return Walk(ledger, tree.size, chain.heads[0], tree.frontier, roots, (*findings.said(), *tree.differing.said()))


def joined(first: Walk, start: Start, second: Walk) -> Walk | None:
    """One walk of two that were made at the same time, the second from ``start``, where the first one has to end.

    None where the one did not end as the other began, or something was found: only a walk from the first entry to the
    last can say what and where.
    """
    ended = Start(first.head, first.frontier)
    if first.findings or second.findings or ended != start or first.ledger != second.ledger:
        return None
    return Walk(first.ledger, second.size, second.head, second.frontier, first.roots | second.roots, ())


def as_bytes(value: object) -> bytes:
    """Bytes as stored. Another type, which only a hand in the file can leave, reads as something that fits nothing."""
    return value if isinstance(value, bytes) else b"\x00not stored as bytes: " + repr(value).encode()


def _until(stops: Sequence[int], size: int) -> int:
    """How many rows to take on: a block, or up to the next size whose root is asked for."""
    later = next((stop for stop in stops if stop > size), size + BLOCK)
    return min(BLOCK, later - size)


@dataclass(slots=True)
class _Chain:
    """Where the walk stands in the chain.

    After a bad row the walk goes on from whatever the next row may follow: heads holds both the head as stored and
    the head as it should be. One damaged field so makes one finding, not two.
    """

    expected: int
    heads: tuple[Hash, ...]

    def follow_all(self, block: Sequence[Row | tuple[int, bytes, bytes, bytes]]) -> list[Hash] | None:
        """Take a block of rows that follow, each on the one before, and give their leaf hashes; else take none."""
        sha256 = hashlib.sha256
        seqs, bodies, leaves, heads = zip(*block, strict=True)
        if seqs != tuple(range(self.expected, self.expected + len(block))):
            return None
        try:
            again = [sha256(LEAF + body).digest() for body in bodies]
            before = (self.heads[0], *heads[:-1])
            follows = [sha256(CHAIN + one + leaf).digest() for one, leaf in zip(before, leaves, strict=True)]
        except TypeError:  # a value that is not stored as bytes
            return None
        if again != list(leaves) or follows != list(heads):
            return None
        self.expected += len(block)
        self.heads = (heads[-1],)
        return again

    def follow(self, seq: int, leaf: Hash, leaf_again: Hash, head: Hash) -> Finding | None:
        """Take one row; what is wrong with it, if anything."""
        if seq == self.expected and leaf == leaf_again and next_head(self.heads[0], leaf) == head:
            self.expected, self.heads = seq + 1, (head,)
            return None
        return self._look_closer(seq, leaf, leaf_again, head)

    def _look_closer(self, seq: int, leaf: Hash, leaf_again: Hash, head: Hash) -> Finding | None:
        expected = self.expected
        leaves = {leaf_again, leaf} if is_hash(leaf) else {leaf_again}
        follows = {each for each in leaves for before in self.heads if next_head(before, each) == head}
        should_be = next_head(self.heads[0], leaf_again)
        renumbered = seq != expected and follows  # the chain goes on: only the number is wrong
        self.expected = (expected if renumbered else seq) + 1
        self.heads = (head, should_be) if is_hash(head) else (should_be,)
        if seq != expected:
            return _renumbered(expected, seq) if renumbered else _gap(expected, seq)
        if leaf != leaf_again:
            return _leaf_differs(seq, leaf, leaf_again, follows)
        return None if follows else _head_differs(seq, head, should_be)


def against_checkpoints(walked: Walk, checkpoints: Sequence[Checkpoint]) -> tuple[Finding, ...]:
    """What checkpoints kept elsewhere say about the ledger walked; check their signatures first.

    The walk must have been asked for their sizes. Where a root differs, the largest checkpoint before it that agrees
    bounds the place of the first changed entry: give only those that were kept together.
    """
    findings: list[Finding] = []
    ours = [each for each in checkpoints if each.ledger == walked.ledger]
    findings += [_foreign(walked.ledger, each) for each in checkpoints if each.ledger != walked.ledger]
    findings += forks(ours)
    agreed = [0]
    for each in sorted(ours, key=lambda checkpoint: (checkpoint.size, checkpoint.at)):
        if each.size > walked.size:
            findings.append(_beyond_the_end(each, walked.size))
        elif walked.root_at(each.size) != each.root_hash:
            before = max(size for size in agreed if size < each.size or size == 0)
            findings.append(_root_differs(each, walked.root_at(each.size), before))
        else:
            agreed.append(each.size)
    return tuple(findings)


def forks(checkpoints: Sequence[Checkpoint]) -> list[Finding]:
    """Checkpoints of one ledger and one size that name two roots."""
    first: dict[tuple[str, int], Checkpoint] = {}
    ours = [(first.setdefault((each.ledger, each.size), each), each) for each in checkpoints]
    return [fork(one, other) for one, other in ours if one.root != other.root]


def _gap(expected: int, found: int) -> Finding:
    if found < expected:
        what = f"entry {found} stands where entry {expected} should."
        return Finding("integrity.sequence", f"entry {expected}", what, _STOP)
    missing = (
        f"entry {expected} is missing" if found == expected + 1 else f"entries {expected} to {found - 1} are missing"
    )
    return Finding("integrity.sequence-gap", f"entry {expected}", f"{missing}; the next one found is {found}.", _STOP)


def _renumbered(expected: int, found: int) -> Finding:
    what = f"it is numbered {found}, yet it follows entry {expected - 1} in the chain: its number was changed."
    return Finding("integrity.sequence", f"entry {expected}", what, _STOP)


def _leaf_differs(seq: int, leaf: Hash, leaf_again: Hash, follows: set[Hash]) -> Finding:
    both = f"stored {_short(leaf)}, recomputed {_short(leaf_again)}"
    if leaf_again in follows:
        what = f"its stored leaf hash was changed ({both}); its contents agree with the chain."
    elif leaf in follows:
        what = f"its contents were changed: they no longer have the leaf hash stored and chained ({both})."
    else:
        what = f"its contents, its leaf hash and the chain all disagree ({both})."
    return Finding("integrity.leaf", f"entry {seq}", what, _STOP)


def _head_differs(seq: int, head: Hash, should_be: Hash) -> Finding:
    before = f"entry {seq - 1}" if seq > 1 else "the first head of this ledger"
    what = f"it does not follow {before} in the chain (stored head {_short(head)}, expected {_short(should_be)})."
    return Finding("integrity.chain", f"entry {seq}", what, _STOP)


def _foreign(ledger: str, checkpoint: Checkpoint) -> Finding:
    return Finding(
        "integrity.checkpoint-other-ledger",
        checkpoint.name,
        f"it is of ledger {checkpoint.ledger}; this is ledger {ledger}.",
        "Compare with checkpoints of this ledger, or check which site this copy came from.",
    )


def _beyond_the_end(checkpoint: Checkpoint, size: int) -> Finding:
    return Finding(
        "integrity.tail-missing",
        checkpoint.name,
        f"it is beyond the end of this ledger, which has {size} entries: "
        f"at least {checkpoint.size - size} are missing.",
        "The end was cut off or an old copy was put back. " + _STOP,
    )


def _root_differs(checkpoint: Checkpoint, root: Hash, agreed: int) -> Finding:
    bound = (
        f"entries 1 to {agreed} agree with an earlier checkpoint, so the first changed one" if agreed else "the first"
    )
    return Finding(
        "integrity.root",
        checkpoint.name,
        f"the first {checkpoint.size} entries have root {_short(root)}, signed was {_short(checkpoint.root_hash)}; "
        f"{bound} lies in {agreed + 1} to {checkpoint.size}.",
        "History was rewritten after this checkpoint was signed. " + _STOP,
    )


def _short(value: bytes) -> str:
    return f"{value.hex()[:16]}…" if value else "nothing"
