r"""The check of an inspection copy: its files and trust in, checks out. Nothing of the site is needed.

The list (``manifest.json``) names every file with size and digest, and is signed by the tree key: Ed25519 over
"benchseal-copy/1\n" || canonical list without the signature. Entries stand in the tree of the checkpoint beside them
(RFC 6962); objects have the digests entries name; signatures fit their statements, entries and what they sign. What is
another customer's is there as a leaf or a digest only, and the list says so.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, cast

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from benchseal.identity.statements import check_statement
from benchseal.ledger.checkpoints import Checkpoint, parse_checkpoint
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.key_history import check_head
from benchseal.ledger.proofs import check_inclusion
from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.records.entries import read_entry
from benchseal.records.shape import record_of
from benchseal.records.signatures import Signature
from benchseal.verify.report import Check

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.verify.trust import Trust

SCHEMA: Final = "copy/1"
LIST: Final = "manifest.json"
ENTRIES: Final = "trail/entries.json"
CHECKPOINT: Final = "trail/checkpoint.json"
OBJECTS: Final = "objects/"
MEMBERS: Final = frozenset({
    "schema", "program", "ledger", "laboratory", "at", "asked", "whole", "key_id", "files", "withheld", "signature",
})  # fmt: skip

_SIGNED = b"benchseal-copy/1\n"
_NAME = re.compile(r"[0-9A-Za-z][0-9A-Za-z._ -]*(?:/[0-9A-Za-z][0-9A-Za-z._ -]*)*")
_SAID = 5


@dataclass(slots=True)
class _Case:
    """What is looked at, and what was read of it so far."""

    files: Mapping[str, bytes]
    manifest: dict[str, Any]
    trust: Trust
    head: Checkpoint | None = None
    entries: list[Entry] = field(default_factory=list)


def signed_bytes(manifest: Mapping[str, Json]) -> bytes:
    """What the list's signature covers."""
    return _SIGNED + canonical_bytes({name: value for name, value in manifest.items() if name != "signature"})


def check_copy(files: Mapping[str, bytes], trust: Trust | None) -> tuple[Check, ...]:
    """Every check of a copy. files: path inside the folder, with ``/``, to bytes, of everything found there."""
    manifest = _manifest(files)
    if isinstance(manifest, str):
        return (Check("list", holds=False, said=manifest),)
    if trust is None or trust.ledger != manifest["ledger"]:
        whose = "no trust file was given" if trust is None else f"the trust file is of ledger {trust.ledger}"
        said = f"{whose}; the copy says it is of {manifest['laboratory']}, ledger {manifest['ledger']}."
        return (_files(files, manifest), Check("trust", holds=None, said=said))
    case = _Case(files, manifest, trust)
    return (
        _signed(case),
        _files(files, manifest),
        _check("checkpoint", _head(case), lambda: "a trusted key signed it."),
        _check("entries", _entries(case), lambda: _entry_words(case)),
        _check("objects", _objects(case), lambda: _object_words(case)),
        _check("signatures", _signatures(case), lambda: f"{_signature_count(case)} fit what they state and sign."),
    )


def _manifest(files: Mapping[str, bytes]) -> dict[str, Any] | str:
    try:
        value = parse_canonical(files[LIST])
    except KeyError:
        return f"{LIST} is missing."
    except ValueError as fault:
        return f"{LIST} cannot be read: {fault}."
    if not isinstance(value, dict) or value.keys() != MEMBERS or value["schema"] != SCHEMA:
        return f"{LIST} is not the list of a copy."
    texts = all(isinstance(value[name], str) for name in MEMBERS - {"asked", "whole", "files", "withheld"})
    withheld = value["withheld"]
    lists = isinstance(withheld, list) and all(isinstance(one, dict) for one in withheld)
    if not texts or not lists or not _are_files(value["files"]):
        return f"a member of {LIST} has another type, or names a file outside the copy."
    return value


def _are_files(listed: Json) -> bool:
    return isinstance(listed, list) and all(
        isinstance(one, dict)
        and one.keys() == {"name", "size", "sha256"}
        and isinstance(one["name"], str)
        and _NAME.fullmatch(one["name"]) is not None
        for one in listed
    )


def _signed(case: _Case) -> Check:
    name = str(case.manifest["key_id"])
    period = case.trust.key_period(name)
    if period is None:
        said = f"it names key {name}, which the trust file does not hold. Ask for the present trust file."
        return Check("list", holds=None, said=said)
    try:
        signature = bytes.fromhex(str(case.manifest["signature"]))
        Ed25519PublicKey.from_public_bytes(period.public).verify(signature, signed_bytes(case.manifest))
    except (InvalidSignature, ValueError):
        return Check("list", holds=False, said=f"its signature does not fit it under key {name}: it was changed.")
    if period.revoked is not None:
        said = f"key {name} is revoked as from {period.revoked.since}; ask for a new copy."
        return Check("list", holds=None, said=said)
    return Check("list", holds=True, said=f"signed by key {name} at {case.manifest['at']}.")


def _files(files: Mapping[str, bytes], manifest: dict[str, Any]) -> Check:
    listed = {str(one["name"]): one for one in manifest["files"]}
    here = files.keys() - {LIST}
    found = [f"{name} is missing." for name in sorted(listed.keys() - here)]
    found += [f"{name} is not on the list." for name in sorted(here - listed.keys())]
    found += [
        f"{name} was changed."
        for name in sorted(listed.keys() & here)
        if (len(files[name]), hashlib.sha256(files[name]).hexdigest()) != (listed[name]["size"], listed[name]["sha256"])
    ]
    if len(listed) != len(manifest["files"]):
        found.append("a file is listed twice.")
    return _check("files", iter(found), lambda: f"{len(listed)}, byte for byte as listed.")


def _head(case: _Case) -> Iterator[str]:
    value = parse_canonical(case.files.get(CHECKPOINT, b"null").rstrip(b"\n"))
    head = parse_checkpoint(value, CHECKPOINT)
    if not isinstance(head, Checkpoint):
        yield from (problem.what for problem in head)
        return
    case.head = head
    if head.ledger != case.manifest["ledger"]:
        yield f"it is of ledger {head.ledger}."
    if (finding := check_head(case.trust.ledger_keys, head)) is not None:
        yield finding.what


def _entries(case: _Case) -> Iterator[str]:
    value = parse_canonical(case.files.get(ENTRIES, b"null"))
    if not isinstance(value, list) or case.head is None:
        yield "they cannot be read."
        return
    last = 0
    for item in cast("list[dict[str, Any]]", value):
        seq = int(item["seq"])
        if seq <= last:
            yield f"entry {seq} stands after entry {last}."
        last = seq
        body = item.get("body")
        leaf = record_hash(body.encode()) if isinstance(body, str) else bytes.fromhex(item["leaf"])
        path = tuple(bytes.fromhex(node) for node in item["path"])
        if not check_inclusion(leaf, seq - 1, case.head.size, path, case.head.root_hash):
            yield f"entry {seq} is not in the tree of the checkpoint."
        elif isinstance(body, str):
            entry = read_entry(body.encode())
            if entry.seq != seq:
                yield f"entry {seq} has the body of entry {entry.seq}."
            case.entries.append(entry)


def _objects(case: _Case) -> Iterator[str]:
    here = _names(case)
    withheld = {str(one.get("sha256")) for one in case.manifest["withheld"] if isinstance(one, dict)}
    for name in sorted(here):
        if hashlib.sha256(case.files[OBJECTS + name]).hexdigest() != name:
            yield f"object {name[:16]}… has other bytes than it is named after."
    for entry in case.entries:
        for label, name in sorted(entry.digests.items()):
            if name not in here | withheld:
                yield f"entry {entry.seq} names {label} {name[:16]}…, which is neither there nor said to be withheld."
    copies = {str(one["name"]): str(one["sha256"]) for one in case.manifest["files"]}
    known = {name for entry in case.entries for name in entry.digests.values()}
    for path, name in sorted(copies.items()):
        if path.startswith(("raw/", "certificates/")) and name not in known:
            yield f"{path} is named by no entry."


def _signatures(case: _Case) -> Iterator[str]:
    for entry in case.entries:
        found = entry.facts.get("signature")
        if found is None:
            continue
        signature = record_of(Signature, found)
        statement = signature.statement
        where = f"entry {entry.seq}, signature of {statement.person}"
        if (finding := check_statement(statement, signature.signature)) is not None:
            yield f"{where}: {finding.what}"
        elif (statement.person, statement.at, statement.ledger) != (entry.actor, entry.at, case.manifest["ledger"]):
            yield f"{where}: its statement is of another person, time or ledger."


def _check(name: str, found: Iterator[str], good: Any) -> Check:  # noqa: ANN401  called without arguments
    """Faults as one check; whatever breaks a look half way is a fault of the copy, never a traceback."""
    said = list[str]()
    try:
        said.extend(found)
    except Exception as fault:  # noqa: BLE001  a hostile file can break any reader; saying so is the point
        said.append(f"they could not be looked at ({type(fault).__name__}: {fault}).")
    if not said:
        return Check(name, holds=True, said=good())
    more = [f"and {len(said) - _SAID} more."] if len(said) > _SAID else []
    return Check(name, holds=False, said=" ".join([*said[:_SAID], *more]))


def _names(case: _Case) -> set[str]:
    return {name.removeprefix(OBJECTS) for name in case.files if name.startswith(OBJECTS)}


def _entry_words(case: _Case) -> str:
    size = case.head.size if case.head else 0
    left = sum(1 for one in case.manifest["withheld"] if one.get("entry"))
    withheld = f"; {left} of other customers as leaves only" if left else ""
    return f"{len(case.entries)} stand in the tree of {size}{withheld}."


def _object_words(case: _Case) -> str:
    left = sum(1 for one in case.manifest["withheld"] if one.get("sha256"))
    return f"{len(_names(case))} have the digests entries name" + (f"; {left} as digests only." if left else ".")


def _signature_count(case: _Case) -> int:
    return _counted(entry.facts.get("signature") is not None for entry in case.entries)


def _counted(each: Iterable[bool]) -> int:
    return len([one for one in each if one])
