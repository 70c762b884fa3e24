"""Taking a seal key that an authority has certified: from a PKCS#12 file into the site's own key store.

It is a rotation to a key that was not made here: two people sign, the old key signs that it hands over, and the
certificates of the authority are kept beside. The file itself is not kept, and its password nowhere.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

from benchseal.desk import keys
from benchseal.desk.acting import Receipt
from benchseal.desk.key_records import key_rows
from benchseal.desk.rotation import hand_over, next_seal, require_two_people
from benchseal.desk.seal_in_force import chain_object
from benchseal.identity.seal_certificate import fingerprint
from benchseal.identity.seal_file import SealFile, der_of, life_problems, read_seal_file, subject_of
from benchseal.identity.seal_signer import HeldSealKey
from benchseal.identity.token_reference import public_key_id
from benchseal.ledger.key_history import SEAL
from benchseal.problems import Problem, Refusal, Stopped

if TYPE_CHECKING:
    from collections.abc import Callable

    from cryptography import x509

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_keys import ImportSealKey
    from benchseal.desk.rotation import Next
    from benchseal.desk.site import Site
    from benchseal.records.seal_signer import SealSigner
    from benchseal.store.protocol import Row


def open_file(_: Site, act: ImportSealKey) -> SealFile | tuple[Problem, ...]:
    """The key of the file, or what is wrong with it, before the writer's lock is taken: a password is slow to try."""
    return read_seal_file(act.pkcs12, act.passphrase, act.name)


def import_seal_key(acting: Acting, act: ImportSealKey) -> Receipt:
    """The seal's key is that of the file from here on, on record under two signatures and that of the old key."""
    require_two_people(acting, act.reason, "key import")
    file = cast("SealFile | tuple[Problem, ...]", acting.made)
    if isinstance(file, tuple):
        raise Stopped(*file)

    def keep(row: Row) -> bytes:
        keys.keep_next(acting.site.private, keys.SEAL, (keys.TREE, row["tree_key_id"]), file.private)
        return b""

    signer = HeldSealKey(file.private)
    done = take_certified(acting, act.reason, act.name, signer, (file.certificate, *file.chain), keep)
    last = f"Destroy {act.name} or lock it away: whoever has it and its password can seal as you."
    return replace(done, said=(*done.said, last))


def take_certified(  # noqa: PLR0913, PLR0917  what a certified key is made of
    acting: Acting,
    reason: str,
    name: str,
    signer: SealSigner,
    certificates: tuple[x509.Certificate, ...],
    keep: Callable[[Row], bytes],
) -> Receipt:
    """Hand over to a key that came with certificates: its own, then those above it. Raises Stopped.

    name: where it came from, for problems. keep: the site's row; keeps the new key or the note of its token,
    and gives what goes on record of a token, or nothing.
    """
    certificate, *above = certificates
    _require_good(acting, name, signer, certificates)

    def make(acting: Acting, row: Row) -> Next:
        made = next_seal(acting, row, signer, der_of(certificate))
        return made._replace(chain=chain_object(above) if above else b"", token=keep(row))

    done = hand_over(acting, reason, SEAL, make)
    until = f"{certificate.not_valid_after_utc:%Y-%m-%d}"
    under = subject_of(above[-1] if above else certificate)
    said = f"Its certificate names {subject_of(certificate)}, valid until {until}, issued under {under}."
    data = {**done.data, "fingerprint": fingerprint(certificate), "valid_until": until}
    return Receipt((*done.said, said), data)


def _require_good(acting: Acting, name: str, signer: SealSigner, certificates: tuple[x509.Certificate, ...]) -> None:
    """Valid now, good to a reader, never had here. Raises Stopped."""
    from benchseal.certificate.seal_use import unusable  # noqa: PLC0415  heavy

    problems = [*life_problems(name, certificates, acting.moment)]
    if not problems and (why := unusable(certificates[0], certificates[1:], acting.moment)):
        what = f"a reader would not accept seals under its certificates: {why}"
        remedy = "Ask the authority for a certificate that is meant for seals on documents."
        problems.append(Problem("keys.file-usage", name, what, remedy))
    if problems:
        raise Stopped(*problems)
    new = public_key_id(signer.public)
    if any(row["key_id"] == new for row in key_rows(acting.tx, SEAL)):
        what = f"it holds key {new}, which this site has or had already."
        raise Stopped(Refusal("keys.file-known", name, what, "Let a new key be certified."))
