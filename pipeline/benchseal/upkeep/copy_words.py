"""The page that comes with an inspection copy, in plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.records.canonical import Json

_PAGE: Final = """\
Copy of electronic records of {laboratory}
Made {at} (UTC) by benchseal {program}, from ledger {ledger}.

Asked for: {asked}
{scope}

What is in it
  certificates/         issued certificates, as they were sealed
  raw/                  instrument files, byte for byte
  trail/trail.csv       every entry about these records: when, who, what, why
  trail/signatures.csv  every signature: printed name, role, meaning, time and zone, what it signs
  trail/entries.json    the same entries as they stand in the ledger, each with its proof
  trail/checkpoint.json the ledger's signed head that the proofs lead to
  objects/              every record that an entry names, by its SHA-256: runs, results, documents (JSON)
  trust.json            the laboratory's public keys, and how each came after the one before
  manifest.json         the list of all files, signed by the laboratory's ledger key
  SHA256SUMS            the same digests, for the usual tools

How to check it, from the simplest to the strictest
1. No file was changed by accident:
       sha256sum -c SHA256SUMS
2. Nothing was changed, added, left out or signed otherwise:
       benchseal verify --copy FOLDER --trust TRUST_FILE
   or, without benchseal, with Python 3.11 and the package cryptography:
       python check_copy.py FOLDER --key HEX
   check_copy.py stands in the folder tools of benchseal's source, beside check_ledger.py, which checks a whole ledger.
   TRUST_FILE and HEX (public_key_hex of ledger_keys) have to come from the laboratory by another way than this copy:
   whoever could change the copy could change the trust.json in it.
3. One record by hand: {entries} entries stand in trail/entries.json. The SHA-256 of the text "body" with a byte 00
   before it is the leaf; with the hashes of "path" it gives the root in trail/checkpoint.json (RFC 6962, section 2.1.1;
   the tree has {size} leaves). Each digest an entry names is the name of a file in objects/.

What is not in it
  Passwords, private keys, secrets of runs: never. {withheld}
  That nothing else is on record about these records: the proofs show that what is here stands in the ledger, not that
  nothing beside it does. For that, ask to see the site, or a copy of its ledger.
"""


def readme(manifest: Mapping[str, Json], entries: int, size: int) -> bytes:
    """README.txt. manifest: the list so far."""
    asked, withheld = manifest["asked"], manifest["withheld"]
    names = ", ".join(map(str, asked)) if isinstance(asked, list) else ""
    count = len(withheld) if isinstance(withheld, list) else 0
    scope = "Samples of other customers in the same runs are in clear (copy for an authority)."
    if not manifest["whole"]:
        scope = "What belongs to other customers stands in it as a digest only; what was asked for by run is in clear."
    left = f"{count} records or entries that name other customers: their digests and reasons stand in manifest.json."
    text = _PAGE.format(
        laboratory=manifest["laboratory"],
        at=manifest["at"],
        program=manifest["program"],
        ledger=manifest["ledger"],
        asked=names,
        scope=scope,
        entries=entries,
        size=size,
        withheld=left if count else "Nothing was left out as another customer's.",
    )
    return text.encode()
