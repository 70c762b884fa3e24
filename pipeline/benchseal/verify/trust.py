"""What a reader trusts before looking at a certificate: keys of the laboratory, handed over by another way."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from cryptography import x509

from benchseal.certificate.time_stamp import Authority
from benchseal.ledger.checkpoints import key_id
from benchseal.ledger.key_history import SEAL, TREE, Handover, KeyPeriod, Revoked, check_chain, periods, read_handover
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from benchseal.records.canonical import Digest, Json

SCHEMA: Final = "trust/1"  # one seal and one key, never handed over
WITH_HISTORY: Final = "trust/2"  # and how each came to be: handovers signed by both keys, and what was revoked
WITH_STAMPS: Final = "trust/3"  # and whose time-stamps on its seals the laboratory relied on

_MEMBERS = {"schema", "laboratory", "ledger", "seals", "ledger_keys"}
_HISTORY = {"handovers", "revoked"}
_STAMPS = {"time_stamp_authorities"}
_SCHEMAS = {SCHEMA: _MEMBERS, WITH_HISTORY: _MEMBERS | _HISTORY, WITH_STAMPS: _MEMBERS | _HISTORY | _STAMPS}
_HEX = re.compile(r"(?:[0-9a-f]{2})+")


TrustedKey: TypeAlias = KeyPeriod


@dataclass(frozen=True, slots=True)
class TrustedSeal:
    """One sealing certificate. fingerprint: SHA-256 of its DER, hexadecimal. Entries: as in ``KeyPeriod``."""

    fingerprint: Digest
    certificate: bytes
    from_entry: int = 1
    until_entry: int | None = None
    revoked: Revoked | None = None


@dataclass(frozen=True, slots=True)
class Trust:
    """One laboratory's ledger and the keys it ever used, in order. Whoever believes these can check everything else."""

    laboratory: str
    ledger: str
    seals: tuple[TrustedSeal, ...]
    ledger_keys: tuple[TrustedKey, ...]
    handovers: tuple[Handover, ...] = field(default=())
    authorities: tuple[Authority, ...] = ()

    @property
    def fingerprints(self) -> frozenset[Digest]:
        """Of the sealing certificates."""
        return frozenset(seal.fingerprint for seal in self.seals)

    def ledger_key(self, name: str) -> bytes | None:
        """The key with this short name."""
        found = self.key_period(name)
        return found.public if found else None

    def key_period(self, name: str) -> KeyPeriod | None:
        """The key with this short name, and when it was in force."""
        return next((key for key in self.ledger_keys if key.key_id == name), None)

    def seal(self, fingerprint: Digest) -> TrustedSeal | None:
        """The sealing certificate with this fingerprint."""
        return next((seal for seal in self.seals if seal.fingerprint == fingerprint), None)


def read_trust(value: Json) -> Trust | tuple[Problem, ...]:
    """The trust file's JSON value as trust, or everything that is wrong with it."""
    stated = value.get("schema") if isinstance(value, dict) else None
    if not isinstance(value, dict) or not isinstance(stated, str) or stated not in _SCHEMAS:
        what = f'it is not an object with "schema": "{SCHEMA}", "{WITH_HISTORY}" or "{WITH_STAMPS}"'
        return (_unusable("trust file", what),)
    members = _SCHEMAS[stated]
    history = members >= _HISTORY
    problems = [
        _unusable(f"trust file, member {name}", "it does not belong here") for name in sorted(value.keys() - members)
    ]
    problems += [
        _unusable(f"trust file, member {name}", "it is not text, or empty")
        for name in ("laboratory", "ledger")
        if not isinstance(value.get(name), str) or not value[name]
    ]
    seals, seal_problems = _each(value.get("seals"), "seals", _seal)
    keys, key_problems = _each(value.get("ledger_keys"), "ledger_keys", _key)
    stamps, stamp_problems = _authorities(value) if members >= _STAMPS else ([], [])
    problems += [*seal_problems, *key_problems, *stamp_problems]
    problems += [
        _unusable(f"trust file, member {name}", f"it lists {len(listed)}; a second one comes with its handover")
        for name, listed in (("seals", seals), ("ledger_keys", keys))
        if len(listed) > 1 and not history
    ]
    if problems:
        return tuple(problems)
    trust = Trust(str(value["laboratory"]), str(value["ledger"]), tuple(seals), tuple(keys), (), tuple(stamps))
    return _with_history(trust, value) if history else trust


def follows(known: Trust, shown: Trust) -> Problem | None:
    """Why a newer trust file does not follow from one trusted before; None where it does.

    ``read_trust`` has checked the handovers inside ``shown``: whoever knows one of its keys by another way knows those
    that came after. So the keys known must stand at the beginning, unchanged.
    """
    ours = [key.public for key in known.ledger_keys], [seal.certificate for seal in known.seals]
    theirs = [key.public for key in shown.ledger_keys], [seal.certificate for seal in shown.seals]
    if known.ledger != shown.ledger:
        what = f"it is of ledger {shown.ledger}; the one trusted before is of {known.ledger}"
    elif theirs[0][: len(ours[0])] != ours[0]:
        what = "its keys of tree heads do not begin with those trusted before"
    elif theirs[1][: len(ours[1])] != ours[1]:
        what = "its sealing certificates do not begin with those trusted before"
    else:
        return None
    return _unusable("trust file", what)


def _with_history(trust: Trust, value: dict[str, Any]) -> Trust | tuple[Problem, ...]:
    """The keys with their times, each after the first handed over by the one before; and what was revoked."""
    handovers, problems = _each(value.get("handovers"), "handovers", _handover, least=0)
    revoked, more = _revocations(value.get("revoked"))
    if problems or more:
        return (*problems, *more)
    trust = replace(trust, handovers=tuple(handovers))
    of_tree = [one for one in handovers if one.key == TREE]
    of_seal = [one for one in handovers if one.key == SEAL]
    first_seal = (of_seal[0].old_key_id if of_seal else "", trust.seals[0].certificate)
    first_key = (trust.ledger_keys[0].key_id, trust.ledger_keys[0].public)
    found = [
        *check_chain(trust.ledger, TREE, first_key, of_tree),
        *check_chain(trust.ledger, SEAL, first_seal, of_seal),
    ]
    if found:
        return tuple(_unusable(f"trust file, {one.where}", one.what.rstrip(".")) for one in found)
    keys = tuple(KeyPeriod(*one, revoked.pop((TREE, one[0]), None)) for one in periods(first_key, of_tree))
    seals = tuple(
        TrustedSeal(name, one[1], one[2], one[3], revoked.pop((SEAL, name), None))
        for one in periods(first_seal, of_seal)
        for name in (hashlib.sha256(one[1]).hexdigest(),)
    )
    listed = [key.public for key in trust.ledger_keys], [seal.certificate for seal in trust.seals]
    if listed != ([key.public for key in keys], [seal.certificate for seal in seals]):
        return (_unusable("trust file", "its keys are not those its handovers lead to, in their order"),)
    if revoked:
        names = ", ".join(name for _, name in revoked)
        return (_unusable("trust file, member revoked", f"it revokes {names}, which is no key of it"),)
    return replace(trust, seals=seals, ledger_keys=keys)


def _handover(item: dict[str, Any]) -> Handover:
    return read_handover(item["object"].encode(), item["old_signature"], item["new_signature"])


def _revocations(value: Json) -> tuple[dict[tuple[str, str], Revoked], list[Problem]]:
    """(tree or seal, key id or fingerprint) to what was revoked."""
    where = "trust file, member revoked"
    if not isinstance(value, list):
        return {}, [_unusable(where, "it is not a list")]
    found = {}
    for item in value:
        confirmed = item.pop("confirmed", None) if isinstance(item, dict) else None
        try:
            texts = dict(_texts(item))
            name = (texts["key"], texts["name"])
            if not isinstance(confirmed, list) or not all(isinstance(one, str) for one in confirmed):
                raise ValueError("its member confirmed is not a list of texts")  # noqa: TRY301
            names = frozenset(map(str, confirmed))
            found[name] = Revoked(texts["since"], texts["at"], texts["reason"], names)
        except (ValueError, KeyError) as fault:
            return {}, [_unusable(where, str(fault))]
    return found, []


def _each(
    value: Json, name: str, read: Callable[[dict[str, Any]], Any], least: int = 1
) -> tuple[list[Any], list[Problem]]:
    """Every item of a list as ``read`` gives it; what ``read`` refuses, with its place."""
    if not isinstance(value, list) or len(value) < least:
        return [], [_unusable(f"trust file, member {name}", "it is not a list of one or more")]
    found, problems = [], []
    for number, item in enumerate(value, start=1):
        try:
            found.append(read(dict(_texts(item))))
        except (ValueError, KeyError) as fault:
            problems.append(_unusable(f"trust file, {name} {number}", str(fault)))
    return found, problems


def _authorities(value: dict[str, Json]) -> tuple[list[Authority], list[Problem]]:
    return _each(value.get("time_stamp_authorities"), "time_stamp_authorities", _authority, least=0)


def _authority(item: dict[str, Any]) -> Authority:
    certificate = _bytes(item, "certificate_der_hex")
    x509.load_der_x509_certificate(certificate)
    return Authority(certificate, item["policy"])


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
