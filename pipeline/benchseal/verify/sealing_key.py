"""Whose key sealed a file, whether it was in force there, and whether it was revoked since: one check, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.verify.report import Check

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.certificate.read_pdf import SealedPdf
    from benchseal.ledger.key_history import Revoked
    from benchseal.verify.trust import Trust

_NAME: Final = "sealing key"


def sealing_key(opened: SealedPdf, trust: Trust, size: int) -> Check:
    """size: how many entries the ledger had at the head the file carries; 0 where it carries none that can be read.

    The time a seal states is the sealer's word: a key that others have can state any. So of a revoked key only what
    the laboratory confirms afterwards stands, and what a trusted time-stamp shows to be older.
    """
    said = f"certificate {opened.fingerprint} of {opened.signer}"
    seal = trust.seal(opened.fingerprint)
    if seal is None:
        raise AssertionError("a seal was trusted although the trust does not hold it")
    if seal.until_entry is not None and size > seal.until_entry:
        what = f"{said} ended at entry {seal.until_entry}; the file was sealed after entry {size}."
        return Check(_NAME, holds=False, said=what)
    if seal.revoked is not None:
        return _revoked(opened, seal.revoked, said)
    if seal.until_entry is None:
        return Check(_NAME, holds=True, said=f"{said} is trusted.")
    what = f"{said} is trusted for what it sealed up to entry {seal.until_entry}; {_when(opened)}, after entry {size}."
    return Check(_NAME, holds=True, said=what)


def time_stamp(opened: SealedPdf) -> Iterator[Check]:
    """What a third party says about when the file was sealed; nothing where it was not asked."""
    stamp = opened.stamp
    if stamp is None:
        return
    said = f"{stamp.name} saw the seal at {stamp.at:%Y-%m-%dT%H:%M:%SZ} (policy {stamp.policy}, number {stamp.serial})"
    if opened.authority is None:
        what = (
            f"{said}, and the trust file names nobody who stands behind that. Ask the laboratory for its present one."
        )
        yield Check("time-stamp", holds=None, said=what)
    else:
        yield Check("time-stamp", holds=True, said=f"{said}.")


def _revoked(opened: SealedPdf, revoked: Revoked, said: str) -> Check:
    what = f"{said} is revoked as from {revoked.since} ({revoked.reason})"
    if opened.authority and opened.stamp and f"{opened.stamp.at:%Y-%m-%d}" < revoked.since:
        return Check(_NAME, holds=True, said=f"{what}; the time-stamp shows that the file was sealed before.")
    if opened.sealed_sha256 in revoked.confirmed:
        said = f"{what}; {_when(opened)}; the laboratory confirms this very file."
        return Check(_NAME, holds=True, said=said)
    later = f"{opened.signed_at:%Y-%m-%d}" >= revoked.since
    stated = f"{_when(opened)}, {'after that day' if later else 'which whoever has the key could write'}"
    return Check(_NAME, holds=None, said=f"{what}, {stated}, and the laboratory does not confirm this file.")


def _when(opened: SealedPdf) -> str:
    return f"the seal states that it was made at {opened.signed_at:%Y-%m-%dT%H:%M:%SZ}"


def sealed_after(opened: SealedPdf, signed: str) -> Check | None:
    """What is wrong where a seal is older than the signature it covers, or the pages are of another time than that.

    signed: when that was made, or empty. Later a seal may be: a release waits where there is no key to seal it.
    """
    sealed, drawn = (f"{at:%Y-%m-%dT%H:%M:%SZ}" for at in (opened.signed_at, opened.drawn_at))
    if signed and drawn[:19] != signed[:19]:
        said = f"its pages state that they were made at {drawn}; what they show was signed at {signed}."
        return Check("seal", holds=False, said=said)
    if not signed or sealed[:19] >= signed[:19]:
        return None
    said = f"it states that it was made at {sealed}, before what it covers was signed, at {signed}."
    return Check("seal", holds=False, said=said)
