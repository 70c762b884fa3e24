"""The seal in force: its key, its certificate and those above it, and whether it may still seal."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, cast

from cryptography import x509

from benchseal.desk.key_records import key_rows
from benchseal.desk.keys import open_seal_key, require_token
from benchseal.identity.seal_file import der_of, subject_of
from benchseal.ledger.key_history import SEAL
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import canonical_bytes, parse_canonical
from benchseal.records.entries import read_entry

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from benchseal.desk.site import Site
    from benchseal.desk.tokens import TokenFacts
    from benchseal.identity.token_reference import TokenPlace
    from benchseal.records.canonical import Json
    from benchseal.records.seal_signer import SealSigner
    from benchseal.store.protocol import Reading, Row

CHAIN_SCHEMA = "certificate-chain/1"
_TOKEN = "seal-token/1"  # noqa: S105  the name of a schema


class SealInForce(NamedTuple):
    """What signs with its key, its certificate, and those of the authority that issued it."""

    signer: SealSigner
    certificate: x509.Certificate
    chain: tuple[x509.Certificate, ...]


def open_seal(site: Site, where: str, at: datetime) -> SealInForce:
    """The seal in force, opened, valid ``at``. where: what is to be sealed. Raises Stopped."""
    with site.store.reading() as view:
        row = _site_row(view, site.ledger)
        certificate = certificate_valid(view, row, where, at)
        now = next(one for one in key_rows(view, SEAL) if one["key_id"] == row["seal_key_id"])
        chain = tuple(map(x509.load_der_x509_certificate, chain_of_key(view, now)))
    return SealInForce(open_seal_key(site.private, row["seal_key_id"]), certificate, chain)


def require_seal_valid(site: Site, view: Reading, where: str, at: datetime) -> None:
    """Before a release is signed: whether the seal could follow. Raises Stopped."""
    row = _site_row(view, site.ledger)
    certificate_valid(view, row, where, at)
    require_token(site.private, row["seal_key_id"])


def certificate_valid(view: Reading, row: Row, where: str, at: datetime) -> x509.Certificate:
    """The certificate of the seal in force. Raises Stopped where it is not valid ``at``: no reader would accept it."""
    certificate = x509.load_der_x509_certificate(view.bytes_of(row["seal_certificate"]))
    first, last = certificate.not_valid_before_utc, certificate.not_valid_after_utc
    if not first <= at <= last:
        what = (
            f"the seal's certificate ({subject_of(certificate)}) is valid from {first:%Y-%m-%d %H:%M}Z to "
            f"{last:%Y-%m-%d %H:%M}Z, now it is {at:%Y-%m-%d %H:%M}Z."
        )
        remedy = "Run `benchseal key rotate seal` or `benchseal key import`, then release it again."
        raise Stopped(Refusal("keys.seal-expired", where, what, remedy))
    return certificate


def chain_object(chain: Sequence[x509.Certificate]) -> bytes:
    """The certificates above that of a seal, as they are kept."""
    certificates: list[Json] = [der_of(one).hex() for one in chain]
    return canonical_bytes({"schema": CHAIN_SCHEMA, "certificates_der_hex": certificates})


def token_object(place: TokenPlace, facts: TokenFacts) -> bytes:
    """What is kept of the token a seal key is in. Neither the place of its library nor the name of its PIN."""
    said: dict[str, Json] = {
        "schema": _TOKEN,
        "token": place.token,
        "key": place.key,
        "manufacturer": facts.manufacturer,
        "model": facts.model,
        "serial": facts.serial,
    }
    return canonical_bytes(said)


def token_of_key(view: Reading, key: Row) -> str:
    """Label of the token one seal key is in, as the entry that put it in force names it; empty where it is in none."""
    kept = read_entry(next(iter(view.entries(int(key["from_entry"]))))[1]).digests.get("seal_token")
    if kept is None:
        return ""
    return str(cast("dict[str, Json]", parse_canonical(view.bytes_of(kept)))["token"])


def chain_of_key(view: Reading, key: Row) -> tuple[bytes, ...]:
    """The certificates (DER) above that of one seal key, as the entry that put it in force names them."""
    entry = read_entry(next(iter(view.entries(int(key["from_entry"]))))[1])
    kept = entry.digests.get("seal_chain")
    if kept is None:
        return ()
    value = cast("dict[str, Json]", parse_canonical(view.bytes_of(kept)))
    return tuple(bytes.fromhex(str(one)) for one in cast("list[Json]", value["certificates_der_hex"]))


def _site_row(view: Reading, ledger: str) -> Row:
    row = view.row("site", ledger=ledger)
    if row is None:
        raise AssertionError("a site has a founding entry")
    return row
