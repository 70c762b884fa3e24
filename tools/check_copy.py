"""Check an inspection copy without benchseal: this one file, Python 3.11 and the package cryptography.

    python check_copy.py FOLDER [--key HEX]

FOLDER: what ``benchseal copy`` wrote. KEY: a public key of the ledger (``public_key_hex``), received from the
laboratory by another way; without it the newest key of the copy's own trust.json is used, and then a copy made up with
its own key is not seen.

Looked at: the signature of the list, each file against it, files missing or added, the checkpoint's signature, the
proof of each entry (RFC 6962), objects against their names, signatures against statements and entries. Written from
the formats alone, sharing no code with the program that made it. Exit code: 0 everything holds, 6 something does not,
2 no copy.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

HOLDS, BROKEN, UNUSABLE = 0, 6, 2
LIST = "manifest.json"


def sha256(*parts: bytes) -> bytes:
    """SHA-256 of the parts one after the other."""
    return hashlib.sha256(b"".join(parts)).digest()


def canonical(value: Any) -> bytes:  # noqa: ANN401  any JSON value
    """Canonical bytes (RFC 8785 in the domain the copy keeps to: no numbers but integers)."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def signed(key: bytes, signature: str, message: bytes) -> bool:
    """Whether an Ed25519 signature holds."""
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def root_of(leaf: bytes, index: int, size: int, path: list[bytes]) -> bytes | None:
    """The root an inclusion path leads to (RFC 9162 section 2.1.3.2); None where its length does not fit."""
    position, last, found = index, size - 1, leaf
    for sibling in path:
        if last == 0:
            return None
        if position & 1 or position == last:
            found = sha256(b"\x01", sibling, found)
            while position & 1 == 0 and position:
                position, last = position >> 1, last >> 1
        else:
            found = sha256(b"\x01", found, sibling)
        position, last = position >> 1, last >> 1
    return found if last == 0 else None


def check_files(files: dict[str, bytes], manifest: dict[str, Any]) -> list[str]:
    """Files against the list."""
    listed = {one["name"]: one for one in manifest["files"]}
    found = [f"{name} is missing." for name in sorted(listed.keys() - files.keys())]
    found += [f"{name} is not on the list." for name in sorted(files.keys() - listed.keys() - {LIST})]
    for name in sorted(listed.keys() & files.keys()):
        if (len(files[name]), sha256(files[name]).hex()) != (listed[name]["size"], listed[name]["sha256"]):
            found.append(f"{name} was changed.")
    return found


def check_entries(files: dict[str, bytes], manifest: dict[str, Any], key: bytes) -> tuple[list[str], int]:
    """The checkpoint, each entry's proof, objects, signatures; what does not hold, and how many entries there are."""
    head = json.loads(files["trail/checkpoint.json"])
    said = canonical({name: head[name] for name in ("ledger", "size", "root", "at")})
    found = []
    if head["ledger"] != manifest["ledger"] or not signed(key, head["signature"], b"benchseal-sth/1\n" + said):
        found.append("trail/checkpoint.json is not signed by the key.")
    objects = {name.removeprefix("objects/") for name in files if name.startswith("objects/")}
    found += [f"object {name} has other bytes." for name in objects if sha256(files[f"objects/{name}"]).hex() != name]
    withheld = {one.get("sha256") for one in manifest["withheld"] if isinstance(one, dict)}
    items = json.loads(files["trail/entries.json"])
    for item in items:
        where = f"entry {item['seq']}"
        body = item.get("body")
        leaf = sha256(b"\x00", body.encode()) if body is not None else bytes.fromhex(item["leaf"])
        path = [bytes.fromhex(node) for node in item["path"]]
        root = root_of(leaf, item["seq"] - 1, head["size"], path)
        if root is None or root.hex() != head["root"]:
            found.append(f"{where} is not in the tree of the checkpoint.")
        if body is None:
            continue
        entry = json.loads(body)
        missing = set(entry["digests"].values()) - objects - withheld
        found += [f"{where}: object {name} is neither there nor said to be withheld." for name in sorted(missing)]
        found += [f"{where}: {what}" for what in check_signature(entry, manifest["ledger"])]
    return found, len(items)


def check_signature(entry: dict[str, Any], ledger: str) -> list[str]:
    """The signature an entry carries, if any."""
    signature = entry["facts"].get("signature")
    if signature is None:
        return []
    statement = signature["statement"]
    if sha256(b"benchseal-signature/1\n", canonical(statement)).hex() != signature["signature"]:
        return ["its signature is not that of its statement."]
    if (statement["person"], statement["at"], statement["ledger"]) != (entry["actor"], entry["at"], ledger):
        return ["its signature is of another person, time or ledger."]
    return []


def check(folder: Path, key: str) -> tuple[list[str], list[str]]:
    """What does not hold, and lines on what was looked at. Raises OSError, ValueError, KeyError where it is no copy."""
    files = {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    manifest = json.loads(files[LIST])
    own = [one["public_key_hex"] for one in json.loads(files["trust.json"])["ledger_keys"]][-1]
    public = bytes.fromhex(key or own)
    body = {name: value for name, value in manifest.items() if name != "signature"}
    found = []
    if not signed(public, str(manifest["signature"]), b"benchseal-copy/1\n" + canonical(body)):
        found.append(f"{LIST} is not signed by the key.")
    found += check_files(files, manifest)
    said = []
    try:
        more, entries = check_entries(files, manifest, public)
        found += more
        said.append(f"{len(files)} files, {entries} entries, {len(manifest['withheld'])} things withheld")
    except (ValueError, KeyError, TypeError, AttributeError) as fault:
        found.append(f"the entries cannot be read: {fault!r}")
    if not key:
        said.append("No key from outside was given: that the copy was made by the laboratory is not shown.")
    return found, said


def main() -> int:
    """Check the copy named on the command line."""
    parser = argparse.ArgumentParser(description="Check an inspection copy without benchseal.")
    parser.add_argument("folder", type=Path, help="what `benchseal copy` wrote")
    parser.add_argument("--key", default="", metavar="HEX", help="a public key of the ledger, from the laboratory")
    given = parser.parse_args()
    try:
        found, said = check(given.folder, given.key.lower())
    except (OSError, ValueError, KeyError, TypeError) as fault:
        print(f"{given.folder} cannot be checked: {fault!r}", file=sys.stderr)
        return UNUSABLE
    for line in [*found, *said]:
        print(line)
    print(f"{len(found)} things do not hold." if found else "Everything that was looked at holds.")
    return BROKEN if found else HOLDS


if __name__ == "__main__":
    sys.exit(main())
