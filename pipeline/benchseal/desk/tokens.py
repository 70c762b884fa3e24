"""A seal key in a PKCS#11 token (OASIS PKCS #11 v2.40): looked at, and signed with. The key never leaves it.

Each use loads the library named by its whole path, opens one session with the PIN, and ends both: nothing stays signed
in, and a token that came or went meanwhile is seen. Every signature is checked with the public key before it is used.
"""

from __future__ import annotations

import hashlib
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchseal.desk.destinations import secret_of
from benchseal.identity.seal_signer import signature_holds
from benchseal.problems import Refusal, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pkcs11 import _pkcs11
    from pkcs11.types import Session, SignMixin, Token

    from benchseal.identity.token_reference import TokenPlace, TokenReference

EXTRA: Final = "pkcs11"
# DigestInfo of SHA-256 without the digest itself: RFC 8017, 9.2, note 1.
DIGEST_INFO: Final = bytes.fromhex("3031300d060960864801650304020105000420")
_PIN_FAULTS: Final = {
    "PinIncorrect": "its PIN is not the one kept under '{pin}'",
    "PinInvalid": "its PIN is not the one kept under '{pin}'",
    "PinLenRange": "the PIN kept under '{pin}' is too short or too long for it",
    "PinLocked": "its PIN is locked after too many wrong ones",
    "PinExpired": "its PIN has to be changed first",
    "UserPinNotInitialized": "no PIN was ever set in it",
}


@dataclass(frozen=True, slots=True)
class TokenFacts:
    """What goes on record of a token, as it says of itself; and the certificates (DER) it holds."""

    manufacturer: str
    model: str
    serial: str
    certificates: tuple[bytes, ...]
    signature: bytes


@dataclass(frozen=True, slots=True)
class TokenSealKey:
    """A ``SealSigner`` of a key in a token."""

    reference: TokenReference

    @property
    def public(self) -> bytes:
        """Public half: SubjectPublicKeyInfo, DER."""
        return self.reference.public

    def sign(self, data: bytes) -> bytes:
        """The signature on ``data``. Raises Stopped: the token is away, does not open, or signs with another key."""
        place = self.reference.place
        with _key(place) as (key, _):
            signature = _signed(place, key, data)
        if not signature_holds(self.public, signature, data):
            what = "what it signs does not fit the public key on record: another key has this label now."
            remedy = "Nothing was used of it. Put the right token in its place, or give the key its label back."
            raise Stopped(Refusal("keys.token-other-key", str(place), what, remedy))
        return signature

    def reach(self) -> None:
        """Whether the key could sign now; it signs nothing. Raises Stopped."""
        with _key(self.reference.place):
            pass


def look(place: TokenPlace, trial: bytes) -> TokenFacts:
    """What the token says, every certificate in it, and its key's signature on ``trial``. Raises Stopped."""
    with _key(place) as (key, token):
        import pkcs11  # noqa: PLC0415  optional; ``_library`` has said so where it is missing

        signature = _signed(place, key, trial)
        found = key.session.get_objects({pkcs11.Attribute.CLASS: pkcs11.ObjectClass.CERTIFICATE})
        certificates = tuple(bytes(one[pkcs11.Attribute.VALUE]) for one in found)
        serial = token.serial.decode("ascii", "replace").strip()
        return TokenFacts(token.manufacturer_id.strip(), token.model.strip(), serial, certificates, signature)


@contextmanager
def _key(place: TokenPlace) -> Iterator[tuple[SignMixin, Token]]:
    """The private key at ``place`` and its token, with a session open. Raises Stopped."""
    pin = secret_of(place.pin)
    library = _library(place)
    import pkcs11  # noqa: PLC0415

    try:
        with library.get_token(token_label=place.token).open(user_pin=pin) as session:
            yield _private_key(place, session), session.token
    except pkcs11.PKCS11Error as fault:
        raise _stopped(place, fault) from None
    finally:
        with suppress(pkcs11.PKCS11Error):  # a token pulled out meanwhile: the fault before says it
            library.finalize()


def _library(place: TokenPlace) -> _pkcs11.lib:
    """The library of the token, loaded and begun. Raises Stopped."""
    try:
        import pkcs11  # noqa: PLC0415
    except ImportError:
        what = "the package that speaks PKCS#11 is not installed here."
        remedy = f"Install it: pip install 'benchseal[{EXTRA}]'."
        raise Stopped(Refusal("keys.token-package", str(place), what, remedy)) from None
    path = Path(place.module)
    if not path.is_absolute() or not path.is_file():
        what = f"the token's library {place.module} is not there."
        remedy = "Install the library of the token's maker, or name its whole path."
        raise Stopped(Trouble("keys.token-module", str(place), what, remedy))
    try:
        return pkcs11.lib(str(path))
    except (pkcs11.PKCS11Error, RuntimeError, OSError, AttributeError) as fault:
        what = f"the token's library {place.module} cannot be loaded ({_named(fault)})."
        remedy = "Look whether it is a PKCS#11 library for this machine and whether its own set-up is done."
        raise Stopped(Trouble("keys.token-module", str(place), what, remedy)) from None


def _private_key(place: TokenPlace, session: Session) -> SignMixin:
    import pkcs11  # noqa: PLC0415
    from pkcs11.types import SignMixin  # noqa: PLC0415

    wanted = {pkcs11.Attribute.CLASS: pkcs11.ObjectClass.PRIVATE_KEY, pkcs11.Attribute.LABEL: place.key}
    found = list(session.get_objects(wanted))
    if len(found) != 1:
        what = f"the token holds {len(found)} private keys of this label, and one is needed."
        remedy = "Look at its keys with the programs of its maker; where two share a label, give one another."
        raise Stopped(Refusal("keys.token-key", str(place), what, remedy))
    key = found[0]
    if not isinstance(key, SignMixin) or key.key_type != pkcs11.KeyType.RSA:
        what = "it is no RSA key that may sign, and a seal needs one of 3072 bits or more."
        raise Stopped(Refusal("keys.token-key", str(place), what, "Have an RSA key made in it that may sign."))
    return key


def _signed(place: TokenPlace, key: SignMixin, data: bytes) -> bytes:
    """RSASSA-PKCS1-v1_5 with SHA-256: hashed by the token where it can, else here. Raises Stopped, PKCS11Error."""
    import pkcs11  # noqa: PLC0415

    known = key.session.token.slot.get_mechanisms()
    pin = secret_of(place.pin) if _asks_each_time(key) else None
    if pkcs11.Mechanism.SHA256_RSA_PKCS in known:
        return bytes(key.sign(data, mechanism=pkcs11.Mechanism.SHA256_RSA_PKCS, pin=pin))
    if pkcs11.Mechanism.RSA_PKCS in known:
        stated = DIGEST_INFO + hashlib.sha256(data).digest()
        return bytes(key.sign(stated, mechanism=pkcs11.Mechanism.RSA_PKCS, pin=pin))
    what = "the token has neither CKM_SHA256_RSA_PKCS nor CKM_RSA_PKCS, and a seal is signed with one of them."
    raise Stopped(Refusal("keys.token-mechanism", str(place), what, "Use a token that signs so."))


def _asks_each_time(key: SignMixin) -> bool:
    """Whether the token wants the PIN again for each signature (CKA_ALWAYS_AUTHENTICATE)."""
    import pkcs11  # noqa: PLC0415

    try:
        return bool(key[pkcs11.Attribute.ALWAYS_AUTHENTICATE])
    except pkcs11.PKCS11Error:  # older tokens do not know the attribute
        return False


def _stopped(place: TokenPlace, fault: Exception) -> Stopped:
    """One fault of a token in words, with what to do."""
    name = type(fault).__name__
    if name in _PIN_FAULTS:
        what = _PIN_FAULTS[name].format(pin=place.pin) + "; it was tried once."
        remedy = "Put the right PIN under that name. Most tokens lock after a few wrong ones: do not try on."
        return Stopped(Refusal("keys.token-pin", str(place), what, remedy))
    if name == "MultipleTokensReturned":
        what = "two tokens have this label here."
        return Stopped(Refusal("keys.token-two", str(place), what, "Take one away, or give it another label."))
    remedy = "Put the token in its place, look at its library's set-up, then give the same command again."
    if name == "NoSuchToken":
        return Stopped(Trouble("keys.token-away", str(place), "no token of this label is there.", remedy))
    return Stopped(Trouble("keys.token-away", str(place), f"the token does not answer as it should ({name}).", remedy))


def _named(fault: Exception) -> str:
    return f"{type(fault).__name__}: {fault}".strip(": ")
