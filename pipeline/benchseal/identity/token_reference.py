"""Where a seal key that lives in a PKCS#11 token is found: the site's note of it. It holds no secret.

Each machine may keep the library of a token in another place, so the note lies with the site's keys and not in the
ledger. It cannot pass off another key: what the token signs is checked with the public key, which the ledger names.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import asdict, dataclass
from pathlib import PurePosixPath, PureWindowsPath
from typing import Final

from benchseal.problems import Problem, Refusal
from benchseal.records.canonical import canonical_bytes, parse_json

SCHEMA: Final = "key-token/1"
LONGEST_TOKEN: Final = 32  # label of CK_TOKEN_INFO, PKCS#11 v2.40 base, 3.2, in bytes of UTF-8
LONGEST_KEY: Final = 255
SECRET_NAME: Final = re.compile(r"[a-z][a-z0-9-]{0,39}")
_RESTORE: Final = "Put back SITE/private from safe keeping."


@dataclass(frozen=True, slots=True)
class TokenPlace:
    """module: absolute path of the token's library. token, key: labels. pin: the name its PIN is kept under."""

    module: str
    token: str
    key: str
    pin: str

    def __str__(self) -> str:
        """For people."""
        return f"key '{self.key}' in token '{self.token}'"


@dataclass(frozen=True, slots=True)
class TokenReference:
    """A place, and the public key (SubjectPublicKeyInfo, DER) of what is kept there."""

    place: TokenPlace
    public: bytes


def place_problems(place: TokenPlace) -> tuple[Problem, ...]:
    """Everything that speaks against a place before anybody looks there."""
    found = []
    if not (PurePosixPath(place.module).is_absolute() or PureWindowsPath(place.module).is_absolute()):
        what = f"{place.module!r} is no absolute path; a library is never looked for."
        found.append(Problem("keys.token-module", "--module", what, "Give the whole path of the token's library."))
    for word, text, longest in (("--token", place.token, LONGEST_TOKEN), ("--key", place.key, LONGEST_KEY)):
        if not text.strip() or len(text.encode("utf-8", "surrogatepass")) > longest or not text.isprintable():
            what = f"{text!r} is no label: 1 to {longest} bytes that can be printed."
            found.append(Problem("keys.token-label", word, what, "Give the label as the token's own programs show it."))
    if SECRET_NAME.fullmatch(place.pin) is None:
        # The word given may be the PIN itself, so it is not said again.
        what = "this is no name of a secret: small letters, figures and hyphens, a letter first, at most 40."
        found.append(Problem("keys.token-pin-name", "--pin", what, "Give the name of the secret, never the PIN."))
    return tuple(found)


def public_key_id(public: bytes) -> str:
    """Short name of a key by its public half, as ``keys.key_id_of`` makes it."""
    return hashlib.sha256(public).hexdigest()[:16]


def reference_bytes(reference: TokenReference) -> bytes:
    """What is kept of it, as canonical JSON and a line end."""
    return canonical_bytes({"schema": SCHEMA, **asdict(reference.place), "public": reference.public.hex()}) + b"\n"


def read_reference(data: bytes, key_id: str) -> TokenReference | Refusal:
    """Inverse of ``reference_bytes``, for the key ``key_id``; or why not."""
    where = f"key {key_id}"
    try:
        value = parse_json(data)
    except ValueError:
        value = None
    members = {"schema", "module", "token", "key", "pin", "public"}
    if not isinstance(value, dict) or value.keys() != members or value["schema"] != SCHEMA:
        what = f"the note where its token is cannot be read: it is no object of schema {SCHEMA}."
        return Refusal("keys.token-note", where, what, _RESTORE)
    texts = {name: str(value[name]) for name in members}
    place = TokenPlace(texts["module"], texts["token"], texts["key"], texts["pin"])
    if problems := place_problems(place):
        return Refusal("keys.token-note", where, f"its note, {problems[0].where}: {problems[0].what}", _RESTORE)
    try:
        public = bytes.fromhex(texts["public"])
    except ValueError:
        public = b""
    if public_key_id(public) != key_id:
        return Refusal("keys.token-note", where, "its note holds the public half of another key.", _RESTORE)
    return TokenReference(place, public)
