"""Check a copied ledger without benchseal: this one file, Python 3.11 and the package cryptography.

    python check_ledger.py COPY [--against FILE...] [--key HEX]

COPY: a site's store.sqlite, a backup, or a site's folder; it is opened for reading only. FILE: checkpoints kept
elsewhere (as ``benchseal ledger checkpoint`` wrote them). KEY: a public key of the ledger from the laboratory's
trust.json; without it the key named in entry 1 is used, and then a history rewritten with a new key is not seen.

Looked at: the number, leaf hash, chain head and form of every entry; the RFC 6962 root; every object against its
digest; objects that entries name; signatures against their statements, entries and what they sign; how each key of
the site was handed over to the next; checkpoints kept in the copy and given, each by the key of its time. Written from
the formats alone (decision records 0002, 0003 and 0019), sharing no code with the program it checks. Exit code: 0
everything holds, 6 something does not, 2 the copy cannot be opened.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sqlite3
import sys
import tempfile
import zipfile
import zlib
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.hashes import SHA256

if TYPE_CHECKING:
    from collections.abc import Iterator

HOLDS, BROKEN, UNUSABLE = 0, 6, 2
STORE = "store.sqlite"
ENTRY = {"seq", "kind", "v", "at", "actor", "subject", "reason", "facts", "digests"}
HEAD = {"schema", "ledger", "size", "root", "at", "key_id", "signature"}


def sha256(*parts: bytes) -> bytes:
    """SHA-256 of the parts one after the other."""
    return hashlib.sha256(b"".join(parts)).digest()


def canonical(value: Any) -> bytes:  # noqa: ANN401  any JSON value
    """Canonical bytes (RFC 8785 in the domain the ledger keeps to: no numbers but integers)."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


class Report:
    """What was found, in order, and how much of it is printed."""

    def __init__(self) -> None:
        self.found: list[str] = []

    def say(self, where: str, what: str) -> None:
        """One thing that does not hold."""
        self.found.append(f"{where}: {what}")


class Tree:
    """The RFC 6962 tree as it grows: complete subtrees of falling size, and the root at the sizes asked for."""

    def __init__(self, sizes: set[int]) -> None:
        self.peaks: list[tuple[int, bytes]] = []
        self.size, self.wanted = 0, sizes
        self.roots = {0: sha256(b"")}

    def add(self, leaf: bytes) -> None:
        """One more leaf."""
        level, node = 0, leaf
        while self.peaks and self.peaks[-1][0] == level:
            node = sha256(b"\x01", self.peaks.pop()[1], node)
            level += 1
        self.peaks.append((level, node))
        self.size += 1
        if self.size in self.wanted:
            self.roots[self.size] = self.root()

    def root(self) -> bytes:
        """Root of the whole tree."""
        if not self.peaks:
            return sha256(b"")
        found = self.peaks[-1][1]
        for _, peak in reversed(self.peaks[:-1]):
            found = sha256(b"\x01", peak, found)
        return found


def heads(copy: sqlite3.Connection, files: list[str], report: Report) -> list[tuple[str, dict[str, Any]]]:
    """Checkpoints kept in the copy and given from outside, each with its name; what is no checkpoint is said."""
    given = [
        (f"kept checkpoint {size}", body, size) for size, body in copy.execute("SELECT size, body FROM checkpoint")
    ]
    given += [(name, Path(name).read_text(encoding="utf-8"), None) for name in files]
    found = []
    for name, text, size in given:
        try:
            value = json.loads(text)
        except ValueError:
            value = None
        if not isinstance(value, dict) or value.keys() != HEAD or type(value["size"]) is not int:
            report.say(name, "it is not a checkpoint.")
        elif size not in {None, value["size"]}:
            report.say(name, f"it is one of {value['size']} entries.")
        else:
            found.append((name, value))
    return found


def walk(copy: sqlite3.Connection, tree: Tree, report: Report) -> Iterator[tuple[int, dict[str, Any]]]:
    """Entries in order, each row checked against the one before; what cannot be read is said and left out."""
    rows = copy.execute("SELECT seq, body, leaf, head FROM ledger ORDER BY seq")
    ledger, head, expected, last = "", b"", 1, ""
    for seq, body, leaf, stored in rows:
        where = f"entry {seq}"
        if not all(isinstance(one, bytes) for one in (body, leaf, stored)):
            report.say(where, "its columns are not stored as bytes.")
            body = body if isinstance(body, bytes) else b""  # noqa: PLW2901  the tree needs a leaf all the same
        if seq != expected:
            report.say(where, f"entry {expected} should stand here: entries are missing, added or renumbered.")
        expected = seq + 1
        again = sha256(b"\x00", body)
        tree.add(again)
        if again != leaf:
            report.say(where, "its contents do not have the leaf hash stored beside them.")
        entry = read_entry(body, seq, report)
        if entry is not None and not ledger:
            ledger = str(entry["facts"].get("ledger", ""))
            head = sha256(b"benchseal-ledger/1\n", ledger.encode())
        if sha256(b"\x02", head, again) != stored:
            report.say(where, "it does not follow the entry before in the chain.")
        head = stored if isinstance(stored, bytes) else b""
        if entry is None:
            continue
        if entry["at"] < last:
            report.say(where, f"its time {entry['at']} is before that of the entry before, {last} (a clock went back).")
        last = entry["at"]
        yield seq, entry


def read_entry(body: bytes, seq: int, report: Report) -> dict[str, Any] | None:
    """An entry from its canonical bytes."""
    try:
        value = json.loads(body)
    except ValueError:
        value = None
    if not isinstance(value, dict) or value.keys() != ENTRY or canonical(value) != body:
        report.say(f"entry {seq}", "it is not a canonical ledger entry.")
        return None
    if value["seq"] != seq:
        report.say(f"entry {seq}", f"its body is that of entry {value['seq']}.")
    return value


def check_signature(entry: dict[str, Any], ledger: str, objects: set[str], report: Report) -> bool:
    """The signature an entry carries, if any: over its statement, by its actor, at its time, on an object here."""
    signature = entry["facts"].get("signature")
    if signature is None:
        return False
    where = f"entry {entry['seq']}, signature of {entry['actor']}"
    statement = signature.get("statement", {}) if isinstance(signature, dict) else {}
    digest = sha256(b"benchseal-signature/1\n", canonical(statement)).hex()
    if not isinstance(signature, dict) or signature.get("signature") != digest:
        report.say(where, "it is not the signature of its statement.")
    facts = {"person": entry["actor"], "at": entry["at"], "ledger": ledger}
    report_wrong = [name for name, value in facts.items() if statement.get(name) != value]
    if report_wrong:
        report.say(where, f"its statement is of another {' and '.join(report_wrong)} than the entry.")
    if statement.get("digest") not in objects:
        report.say(where, "what it signs is not in the copy.")
    return True


def check_objects(copy: sqlite3.Connection, report: Report) -> tuple[set[str], dict[str, bytes]]:
    """Every object against its name; the names, and the bytes of those about keys."""
    wanted = objects_of_keys(copy)
    names, needed = set(), {}
    for name, size, body in copy.execute("SELECT sha256, size, body FROM objects"):
        names.add(name)
        unpack = zlib.decompressobj()
        try:
            data = unpack.decompress(body)
        except (zlib.error, TypeError):
            data = b""
        if not unpack.eof or unpack.unused_data:
            report.say(f"object {str(name)[:16]}…", "it does not unpack, or has bytes added.")
            continue
        if hashlib.sha256(data).hexdigest() != name or len(data) != size:
            report.say(f"object {str(name)[:16]}…", "its bytes are not those it is named after.")
        elif name in wanted:
            needed[name] = data
    return names, needed


def objects_of_keys(copy: sqlite3.Connection) -> set[str]:
    """Names of the objects that entries about keys name: few, and the only ones whose contents matter here."""
    wanted = set()
    rows = copy.execute("SELECT body FROM ledger WHERE seq = 1 OR instr(body, CAST('\"key.rotated\"' AS BLOB)) > 0")
    for (body,) in rows:
        try:
            digests = json.loads(body)["digests"]
        except (ValueError, KeyError, TypeError):
            continue
        wanted |= {str(digests[label]) for label in ("handover", "seal_certificate") if label in digests}
    return wanted


class Keys:
    """The keys of tree heads and of seals, from entry 1 on: each with its public half and the entries it serves."""

    def __init__(self) -> None:
        self.tree: list[list[Any]] = []  # [public half in hexadecimal, from entry, until entry or None]
        self.seal: list[list[Any]] = []

    def found(self, entry: dict[str, Any], objects: dict[str, bytes]) -> None:
        """The keys a site is founded with."""
        self.tree = [[str(entry["facts"].get("tree_key", "")), 1, None]]
        self.seal = [[objects.get(str(entry["digests"].get("seal_certificate")), b"").hex(), 1, None]]

    def hand_over(self, entry: dict[str, Any], objects: dict[str, bytes], ledger: str, report: Report) -> None:
        """One key takes the place of another, where both signed that it does; else nothing changes."""
        where, facts = f"entry {entry['seq']}, handover of a key", entry["facts"]
        data = objects.get(str(entry["digests"].get("handover")), b"")
        try:
            said = json.loads(data)
            line = {"tree": self.tree, "seal": self.seal}[said["key"]]
            old, new = bytes.fromhex(said["old_public_hex"]), bytes.fromhex(said["new_public_hex"])
            signatures = [bytes.fromhex(facts[f"{which}_signature"]) for which in ("old", "new")]
        except (ValueError, KeyError, TypeError):
            report.say(where, "it cannot be read.")
            return
        if (said["ledger"], said["entry"], said["at"]) != (ledger, entry["seq"], entry["at"]):
            report.say(where, "it is of another ledger, entry or time.")
        elif old.hex() != line[-1][0]:
            report.say(where, "it does not hand over from the key in force.")
        elif not all(
            signed_by(said["key"], public, signature, b"benchseal-key-handover/1\n" + data)
            for public, signature in zip((old, new), signatures, strict=True)
        ):
            report.say(where, "the old and the new key did not both sign it.")
        else:
            line[-1][2] = entry["seq"]
            line.append([new.hex(), entry["seq"], None])


def signed_by(kind: str, public: bytes, signature: bytes, message: bytes) -> bool:
    """Ed25519 for tree heads; RSA, PKCS #1 v1.5 with SHA-256, for seals, whose public half is in a certificate."""
    try:
        if kind == "tree":
            Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
        else:
            rsa: Any = x509.load_der_x509_certificate(public).public_key()
            rsa.verify(signature, message, PKCS1v15(), SHA256())
    except (InvalidSignature, ValueError, TypeError, AttributeError):
        return False
    return True


def check_heads(given: list[tuple[str, dict[str, Any]]], tree: Tree, ledger: str, keys: Keys, report: Report) -> None:
    """Each checkpoint's signature by the key of its time, and the root it signed against the entries."""
    for name, head in given:
        signed = b"benchseal-sth/1\n" + canonical({part: head[part] for part in ("ledger", "size", "root", "at")})
        size = head["size"]
        able = [one[0] for one in keys.tree if one[1] <= size and (one[2] is None or size <= one[2])]
        try:
            signature = bytes.fromhex(head["signature"])
            holds = any(signed_by("tree", bytes.fromhex(key), signature, signed) for key in able)
        except (ValueError, TypeError):
            holds = False
        if not holds:
            report.say(name, "no key in force at its size confirms its signature.")
        elif head["ledger"] != ledger:
            report.say(name, f"it is of ledger {head['ledger']}, the copy is {ledger}.")
        elif size > tree.size:
            what = f"it covers {size} entries, the copy has {tree.size}: at least {size - tree.size}"
            report.say(name, f"{what} are missing at the end.")
        elif tree.roots[size].hex() != head["root"]:
            report.say(name, f"the first {size} entries are not those that were signed.")
    kept = {head["size"] for name, head in given if name.startswith("kept ")}
    for one in (*keys.tree, *keys.seal):
        if one[2] is not None and one[2] not in kept:
            report.say(f"entry {one[2]}, handover of a key", "no head signed by the key before holds it.")


def check(copy: sqlite3.Connection, files: list[str], key: str) -> tuple[Report, list[str]]:
    """Everything; what was found, and lines on what was looked at."""
    report = Report()
    given = heads(copy, files, report)
    tree, keys = Tree({head["size"] for _, head in given}), Keys()
    objects, needed = check_objects(copy, report)
    ledger, signatures = "", 0
    for seq, entry in walk(copy, tree, report):
        if seq == 1:
            ledger = str(entry["facts"].get("ledger", ""))
            keys.found(entry, needed)
            if entry["kind"] != "site.founded":
                report.say("entry 1", "it is not the founding entry.")
        if entry["kind"] == "key.rotated":
            keys.hand_over(entry, needed, ledger, report)
        for label, name in entry["digests"].items():
            if name not in objects:
                report.say(f"entry {seq}", f"its object {label} {str(name)[:16]}… is missing.")
        signatures += check_signature(entry, ledger, objects, report)
    if key and key not in {one[0] for one in keys.tree}:
        report.say("entry 1", "no key of this ledger is the one given: this is another history.")
    check_heads(given, tree, ledger, keys, report)
    said = [
        f"ledger {ledger}: {tree.size} entries, root {tree.root().hex()}",
        f"{len(objects)} objects, {signatures} signatures, {len(given)} checkpoints ({len(files)} from outside)",
        f"{len(keys.tree)} keys of tree heads, {len(keys.seal)} of seals",
    ]
    if not files:
        said.append("No checkpoint from outside was given, so a cut-off end cannot be ruled out.")
    return report, said


def database(name: str, folder: str) -> Path:
    """The store to open: the file, a backup's store, or a site's."""
    path = Path(name)
    if path.is_dir():
        return path / STORE
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as archive:
            return Path(archive.extract(STORE, folder))
    return path


def main() -> int:
    """Check the copy named on the command line."""
    parser = argparse.ArgumentParser(description="Check a copied ledger without benchseal.")
    parser.add_argument("copy", help="store.sqlite, a backup, or a site's folder")
    parser.add_argument("--against", nargs="+", default=[], metavar="FILE", help="checkpoints kept elsewhere")
    parser.add_argument("--key", default="", metavar="HEX", help="the ledger's public key, from trust.json")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        try:
            path = database(given.copy, folder)
            with closing(sqlite3.connect(path.resolve().as_uri() + "?mode=ro", uri=True)) as copy:
                copy.text_factory = lambda raw: raw.decode("utf-8", "backslashreplace")
                report, said = check(copy, given.against, given.key.lower())
        except (OSError, KeyError, sqlite3.Error, zipfile.BadZipFile) as fault:
            print(f"{given.copy} cannot be checked: {fault}", file=sys.stderr)
            return UNUSABLE
    for line in report.found:
        print(line)
    for line in said:
        print(line)
    print(f"{len(report.found)} things do not hold." if report.found else "Everything that was looked at holds.")
    return BROKEN if report.found else HOLDS


if __name__ == "__main__":
    sys.exit(main())
