"""Taking a seal key that an authority has certified: from a PKCS#12 file into the site's own key store.

It is a rotation to a key that was not made here: two people sign, the old key signs that it hands over, and the
certificates of the authority are kept beside. The file itself is not kept, and its password nowhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.desk.acting import Receipt
from benchseal.desk.key_records import key_rows
from benchseal.desk.rotation import hand_over, next_seal, require_two_people
from benchseal.desk.seal_in_force import chain_object
from benchseal.identity.keys import key_id_of
from benchseal.identity.seal_certificate import fingerprint
from benchseal.identity.seal_file import SealFile, der_of, life_problems, read_seal_file, subject_of
from benchseal.ledger.key_history import SEAL
from benchseal.problems import Problem, Refusal, Stopped

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_keys import ImportSealKey
    from benchseal.desk.rotation import Next
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Row


def open_file(_: Site, act: ImportSealKey) -> SealFile | tuple[Problem, ...]:
    """The key of the file, or what is wrong with it, before the writer's lock is taken: a password is slow to try."""
    return read_seal_file(act.pkcs12, act.passphrase, act.name)


def import_seal_key(acting: Acting, act: ImportSealKey) -> Receipt:
    """The seal's key is that of the file from here on, on record under two signatures and that of the old key."""
    from benchseal.certificate.seal_use import unusable  # noqa: PLC0415  heavy

    require_two_people(acting, act.reason, "key import")
    file = cast("SealFile | tuple[Problem, ...]", acting.made)
    if isinstance(file, tuple):
        raise Stopped(*file)
    problems = [*life_problems(act.name, (file.certificate, *file.chain), acting.moment)]
    if not problems and (why := unusable(file.certificate, file.chain, acting.moment)):
        what = f"a reader would not accept seals under its certificates: {why}"
        remedy = "Ask the authority for a certificate that is meant for seals on documents."
        problems.append(Problem("keys.file-usage", act.name, what, remedy))
    if problems:
        raise Stopped(*problems)
    name = key_id_of(file.private)
    if any(row["key_id"] == name for row in key_rows(acting.tx, SEAL)):
        what = f"it holds key {name}, which this site has or had already."
        raise Stopped(Refusal("keys.file-known", act.name, what, "Let a new key be certified."))

    def make(acting: Acting, row: Row) -> Next:
        chain = chain_object(file.chain) if file.chain else b""
        return next_seal(acting, row, file.private, der_of(file.certificate), chain)

    done = hand_over(acting, act.reason, SEAL, make)
    until = f"{file.certificate.not_valid_after_utc:%Y-%m-%d}"
    above = file.chain[-1] if file.chain else file.certificate
    said = (
        *done.said,
        f"Its certificate names {subject_of(file.certificate)}, valid until {until}, issued under {subject_of(above)}.",
        f"Destroy {act.name} or lock it away: whoever has it and its password can seal as you.",
    )
    return Receipt(said, {**done.data, "fingerprint": fingerprint(file.certificate), "valid_until": until})
