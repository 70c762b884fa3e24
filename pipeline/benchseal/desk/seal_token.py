"""Taking a seal key that is in a PKCS#11 token: it stays there, and this site keeps where it is and its certificates.

A rotation like that to a key from a file: two people sign, the old key and the new one sign the handover. What goes on
record is the token as it names itself; the place of its library is the machine's matter, its PIN nobody's but the
operator's.
"""

from __future__ import annotations

import secrets
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple, cast

from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from benchseal.desk import keys
from benchseal.desk.rotation import require_two_people
from benchseal.desk.seal_import import take_certified
from benchseal.desk.seal_in_force import token_object
from benchseal.desk.tokens import TokenFacts, TokenSealKey, look
from benchseal.identity.seal_file import LARGEST_FILE, certificate_problems, chain_of, read_certificates
from benchseal.identity.seal_signer import signature_holds
from benchseal.identity.token_reference import TokenPlace, TokenReference, place_problems
from benchseal.problems import Problem, Stopped

if TYPE_CHECKING:
    from cryptography import x509

    from benchseal.desk.acting import Acting, Receipt
    from benchseal.desk.acts_keys import UseToken
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Row

_TRIAL = b"benchseal-trial/1\n"


class SealToken(NamedTuple):
    """A key that signed on trial, what its token says of itself, and its certificate with those above it."""

    reference: TokenReference
    facts: TokenFacts
    certificates: tuple[x509.Certificate, ...]


def open_token(_: Site, act: UseToken) -> SealToken | tuple[Problem, ...]:
    """The key, tried, or what is wrong, before the writer's lock is taken: a token may be slow. Raises Stopped."""
    place = TokenPlace(act.module, act.token, act.key, act.pin)
    if problems := place_problems(place):
        return problems
    given = read_certificates(act.certificates) if act.name else ()
    if act.name and not given:
        what = f"it holds no certificates, or more than {LARGEST_FILE} bytes."
        return (Problem("keys.file-unreadable", act.name, what, "Give certificates in PEM, or one in DER."),)
    trial = _TRIAL + secrets.token_bytes(32)
    facts = look(place, trial)
    known = given or tuple(one for der in facts.certificates for one in read_certificates(der))
    fitting = {one for one in known if signature_holds(_public(one), facts.signature, trial)}
    where = act.name or str(place)
    if len(fitting) != 1:
        return (_not_one(where, len(known), len(fitting)),)
    certificate = fitting.pop()
    chain = chain_of(certificate, known)
    if problems := certificate_problems(where, certificate, chain):
        return problems
    return SealToken(TokenReference(place, _public(certificate)), facts, (certificate, *(chain or ())))


def use_token(acting: Acting, act: UseToken) -> Receipt:
    """The seal's key is the one in the token from here on, on record under two signatures and that of the old key."""
    require_two_people(acting, act.reason, "key token")
    token = cast("SealToken | tuple[Problem, ...]", acting.made)
    if not isinstance(token, SealToken):
        raise Stopped(*token)
    reference, facts, certificates = token

    def keep(_: Row) -> bytes:
        keys.keep_note(acting.site.private, reference)
        return token_object(reference.place, facts)

    name = act.name or str(reference.place)
    done = take_certified(acting, act.reason, name, TokenSealKey(reference), certificates, keep)
    named = " ".join(word for word in (facts.manufacturer, facts.model, facts.serial) if word)
    last = f"It is the {reference.place} ({named}) and stays there: nothing is sealed while the token is away."
    return replace(done, said=(*done.said, last), data={**done.data, "token": reference.place.token})


def _public(certificate: x509.Certificate) -> bytes:
    return certificate.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)


def _not_one(where: str, known: int, fitting: int) -> Problem:
    """Why no certificate, or more than one, is that of the key."""
    if not known:
        what, remedy = "the token holds no certificate.", "Give them in a file: --certificates FILE."
    elif not fitting:
        what = f"none of {known} certificates fits what the key signs: they are of other keys."
        remedy = "Give the certificate of this very key, with those above it: --certificates FILE."
    else:
        what = f"{fitting} different certificates are of this key, and a seal carries one."
        remedy = "Give the one that is meant, with those above it: --certificates FILE."
    return Problem("keys.token-certificate", where, what, remedy)
