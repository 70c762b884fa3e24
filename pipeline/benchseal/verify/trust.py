"""What a reader trusts before looking at a certificate: keys of the laboratory, handed over by another way."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from benchseal.ledger.checkpoints import key_id
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.records.canonical import Digest, Json

SCHEMA: Final = "trust/1"

_MEMBERS = {"schema", "laboratory", "ledger", "seals", "ledger_keys"}
_HEX = re.compile(r"(?:[0-9a-f]{2})+")


@dataclass(frozen=True, slots=True)
class TrustedSeal:
    """One sealing certificate. fingerprint: SHA-256 of its DER, hexadecimal."""

    fingerprint: Digest
    certificate: bytes


@dataclass(frozen=True, slots=True)
class TrustedKey:
    """One key that signs the ledger's checkpoints: its short name and its 32 raw bytes (Ed25519)."""

    key_id: str
    public: bytes


@dataclass(frozen=True, slots=True)
class Trust:
    """One laboratory's ledger and the keys it ever used. Whoever believes these can check everything else."""

    laboratory: str
    ledger: str
    seals: tuple[TrustedSeal, ...]
    ledger_keys: tuple[TrustedKey, ...]

    @property
    def fingerprints(self) -> frozenset[Digest]:
        """Of the sealing certificates."""
        return frozenset(seal.fingerprint for seal in self.seals)

    def ledger_key(self, name: str) -> bytes | None:
        """The key with this short name."""
        return next((key.public for key in self.ledger_keys if key.key_id == name), None)


def read_trust(value: Json) -> Trust | tuple[Problem, ...]:
    """The trust file's JSON value as trust, or everything that is wrong with it."""
    if not isinstance(value, dict) or value.get("schema") != SCHEMA:
        return (_unusable("trust file", f'it is not an object with "schema": "{SCHEMA}"'),)
    problems = [
        _unusable(f"trust file, member {name}", "it does not belong here") for name in sorted(value.keys() - _MEMBERS)
    ]
    problems += [
        _unusable(f"trust file, member {name}", "it is not text, or empty")
        for name in ("laboratory", "ledger")
        if not isinstance(value.get(name), str) or not value[name]
    ]
    seals, seal_problems = _each(value.get("seals"), "seals", _seal)
    keys, key_problems = _each(value.get("ledger_keys"), "ledger_keys", _key)
    problems += [*seal_problems, *key_problems]
    if problems:
        return tuple(problems)
    return Trust(str(value["laboratory"]), str(value["ledger"]), tuple(seals), tuple(keys))


def _each(value: Json, name: str, read: Callable[[dict[str, Any]], Any]) -> tuple[list[Any], list[Problem]]:
    """Every item of a list as ``read`` gives it; what ``read`` refuses, with its place."""
    if not isinstance(value, list) or not value:
        return [], [_unusable(f"trust file, member {name}", "it is not a list of one or more")]
    found, problems = [], []
    for number, item in enumerate(value, start=1):
        try:
            found.append(read(dict(_texts(item))))
        except (ValueError, KeyError) as fault:
            problems.append(_unusable(f"trust file, {name} {number}", str(fault)))
    return found, problems


def _texts(item: Json) -> Iterator[tuple[str, str]]:
    if not isinstance(item, dict):
        raise ValueError("it is not an object")  # noqa: TRY004  a fault of the file, not of a caller
    for name, text in item.items():
        if not isinstance(text, str):
            raise ValueError(f"its member {name} is not text")  # noqa: TRY004
        yield name, text


def _seal(item: dict[str, Any]) -> TrustedSeal:
    certificate = _bytes(item, "certificate_der_hex")
    stated, found = item["fingerprint_sha256"], hashlib.sha256(certificate).hexdigest()
    if stated != found:
        raise ValueError(f"its certificate has fingerprint {found}, stated is {stated}")
    return TrustedSeal(found, certificate)


def _key(item: dict[str, Any]) -> TrustedKey:
    public = _bytes(item, "public_key_hex")
    if len(public) != 32:
        raise ValueError(f"an Ed25519 key has 32 bytes, this one {len(public)}")
    if item["key_id"] != key_id(public):
        raise ValueError(f"its key has the short name {key_id(public)}, stated is {item['key_id']}")
    return TrustedKey(key_id(public), public)


def _bytes(item: dict[str, Any], name: str) -> bytes:
    text = item.get(name, "")
    if _HEX.fullmatch(text) is None:
        raise ValueError(f"its member {name} is not lower-case hexadecimal")
    return bytes.fromhex(text)


def _unusable(where: str, what: str) -> Problem:
    return Problem(
        "settings.trust-unusable", where, f"{what}.", "Ask the laboratory for its trust file again, by a way you trust."
    )
