"""Time-stamps on a seal (RFC 3161): made with another program's authority, read back, and attacked one by one."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import cms, tsp
from cryptography.hazmat.primitives.serialization import Encoding
from tests.certificate.conftest import SEALED_AT, make_key
from tests.stamping import PYHANKO_POLICY, STAMP_ROOT, STAMPER, STAMPING, Stamper, content_of, other, signed_anew

from benchseal.certificate.read_pdf import SealedPdf, open_certificate
from benchseal.certificate.seal import OF_CERTIFICATE, SealKey, fingerprint, seal
from benchseal.certificate.seal_bytes import Frame, cut_at_seal
from benchseal.certificate.time_stamp import Authority, Stamp, read_stamp, request_bytes, token_of

if TYPE_CHECKING:
    from collections.abc import Callable

SIGNATURE = b"the signature of a seal"
IMPRINT = hashlib.sha256(SIGNATURE).digest()
NONCE = 4711
AT = SEALED_AT + timedelta(seconds=3)
GOOD = Stamper(
    at=AT, wish=replace(STAMPER, first=AT - timedelta(days=9)), root=replace(STAMP_ROOT, first=AT - timedelta(days=9))
)
OLD = AT - timedelta(days=900)
TRUSTED = (Authority(GOOD.trusted, PYHANKO_POLICY),)


def answer(stamper: Stamper = GOOD, imprint: bytes = IMPRINT, nonce: int = NONCE) -> bytes:
    return stamper.reply(request_bytes(imprint, nonce))


def codes(found: SealedPdf | tuple[Any, ...]) -> set[str]:
    return {one.code for one in found} if isinstance(found, tuple) else set()


def opened(data: bytes, key: SealKey, authorities: tuple[Authority, ...] = TRUSTED) -> SealedPdf | tuple[Any, ...]:
    return open_certificate(data, {fingerprint(key.certificate)}, authorities)


@pytest.fixture(scope="module")
def stamped(raw: bytes, key: SealKey) -> bytes:
    return seal(raw, key, SEALED_AT, OF_CERTIFICATE, GOOD.stamp)


# ------------------------------------------------------------------ as it should be


def test_a_request_holds_digest_nonce_and_policy_and_no_more() -> None:
    asked = tsp.TimeStampReq.load(request_bytes(IMPRINT, NONCE, PYHANKO_POLICY)).native
    assert asked["message_imprint"]["hashed_message"] == IMPRINT
    assert (asked["nonce"], asked["req_policy"], asked["cert_req"]) == (NONCE, PYHANKO_POLICY, True)


def test_the_token_of_another_program_s_authority_is_read() -> None:
    stamp = read_stamp(token_of(answer(), IMPRINT, NONCE), IMPRINT)
    assert (stamp.at, stamp.policy) == (AT, PYHANKO_POLICY)
    assert "Quay Light Stamps" in stamp.name
    assert len(stamp.path) == 1, "the self-signed certificate is left out"


def test_a_seal_with_a_time_stamp_opens(stamped: bytes, raw: bytes, key: SealKey) -> None:
    found = opened(stamped, key)
    assert isinstance(found, SealedPdf), found
    assert found.stamp is not None
    assert (found.stamp.at, found.signed_at) == (AT, SEALED_AT)
    assert found.authority == TRUSTED[0]
    assert stamped.startswith(raw)


@pytest.mark.parametrize(
    "authorities",
    [
        (),
        (Authority(GOOD.trusted, "2.999.7"),),
        (Authority(make_key().certificate.public_bytes(Encoding.DER)),),
        (Authority(Stamper(root=replace(STAMP_ROOT, last=AT - timedelta(days=1), first=OLD)).trusted),),
    ],
    ids=["nobody", "another policy", "a stranger", "run out"],
)  # fmt: skip
def test_whose_time_stamp_is_not_trusted_is_left_open(
    stamped: bytes, key: SealKey, authorities: tuple[Authority, ...]
) -> None:
    found = opened(stamped, key, authorities)
    assert isinstance(found, SealedPdf), found
    assert (found.stamp is not None, found.authority) == (True, None)


def test_the_certificate_of_the_authority_itself_can_be_trusted(stamped: bytes, key: SealKey) -> None:
    found = opened(stamped, key, (Authority(GOOD.certificate.public_bytes(Encoding.DER)),))
    assert isinstance(found, SealedPdf), found
    assert found.authority is not None


# ------------------------------------------------------------------ answers that are refused at issue


def _rejected() -> bytes:
    status = {"status": "rejection", "status_string": ["no more today"]}
    return bytes(tsp.TimeStampResp({"status": status, "time_stamp_token": _any_token()}).dump())


def _any_token() -> cms.ContentInfo:
    return tsp.TimeStampResp.load(answer())["time_stamp_token"]


def _without_nonce() -> bytes:
    return signed_anew(answer(), GOOD, lambda info: info.__delitem__("nonce"))


def _far_too_large() -> bytes:
    reply = tsp.TimeStampResp.load(answer())
    return signed_anew(reply.dump(), GOOD, lambda info: info.__setitem__("extensions", _padding()))


def _padding() -> list[dict[str, Any]]:
    return [{"extn_id": "2.999.9", "critical": False, "extn_value": bytes(9000)}]


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize(
    ("made", "words"),
    [
        pytest.param(lambda: b"", "cannot be read", id="nothing"),
        pytest.param(lambda: b"<html>", "cannot be read", id="a web page"),
        pytest.param(lambda: answer()[:-9], "cannot be read", id="cut short"),
        pytest.param(lambda: answer() + b"x", "cannot be read", id="too long"),
        pytest.param(_rejected, "rejection", id="rejected"),
        pytest.param(lambda: answer(imprint=hashlib.sha256(b"another").digest()), "imprint", id="wrong imprint"),
        pytest.param(lambda: answer(nonce=NONCE + 1), "nonce", id="other nonce"),
        pytest.param(_without_nonce, "nonce", id="no nonce"),
        pytest.param(_far_too_large, "bytes", id="too large for the seal"),
    ],
)  # fmt: skip
def test_an_answer_that_is_not_to_this_request(made: Callable[[], bytes], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        token_of(made(), IMPRINT, NONCE)


def token(reply: bytes) -> bytes:
    return token_of(reply, IMPRINT, NONCE)


def _of_another_key() -> bytes:
    """The certificate of the authority, the signature of another key."""
    reply = tsp.TimeStampResp.load(answer())
    signed = reply["time_stamp_token"]["content"]
    signer = signed["signer_infos"][0]
    signer["signature"] = bytes(256)
    signed["signer_infos"] = [signer]
    return token(reply.dump(force=True))


def _other_words() -> bytes:
    """What the token says is changed, and not signed again."""
    reply = tsp.TimeStampResp.load(answer())
    held = reply["time_stamp_token"]["content"]["encap_content_info"]
    info = tsp.TSTInfo.load(bytes(held["content"]))
    info["gen_time"] = AT - timedelta(days=365)
    reply["time_stamp_token"]["content"]["encap_content_info"] = content_of(info.dump(force=True))
    return token(reply.dump(force=True))


def _certificate_swapped() -> bytes:
    """Another certificate of the same authority put in the place of the one that signed."""
    reply = tsp.TimeStampResp.load(answer())
    theirs = tsp.TimeStampResp.load(answer(replace(GOOD, key="second stamper", wish=replace(GOOD.wish, serial=99))))
    reply["time_stamp_token"]["content"]["certificates"] = theirs["time_stamp_token"]["content"]["certificates"]
    return token(reply.dump(force=True))


def of(**changed: Any) -> Callable[[], bytes]:  # noqa: ANN401
    return lambda: token(answer(replace(GOOD, wish=replace(GOOD.wish, **changed))))


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize(
    ("made", "words"),
    [
        pytest.param(of(last=AT - timedelta(days=1)), "is valid from", id="expired authority"),
        pytest.param(of(first=AT + timedelta(days=1)), "is valid from", id="authority not begun"),
        pytest.param(of(extended=()), "not one for time-stamps", id="no extended key usage"),
        pytest.param(of(extended_critical=False), "not one for time-stamps", id="usage not critical"),
        pytest.param(of(extended=(STAMPING, "1.3.6.1.5.5.7.3.4")), "not one for time-stamps", id="for mail as well"),
        pytest.param(_of_another_key, "does not hold", id="signature of another key"),
        pytest.param(_other_words, "not what was signed", id="time changed"),
        pytest.param(_certificate_swapped, "certificate that signed it is not in it", id="another certificate"),
    ],
)
def test_a_token_that_does_not_hold(made: Callable[[], bytes], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_stamp(made(), IMPRINT)


def test_a_token_on_another_signature() -> None:
    with pytest.raises(ValueError, match="not that of this seal"):
        read_stamp(token(answer()), hashlib.sha256(b"another").digest())


def test_a_token_in_another_form() -> None:
    """A self-signed certificate more says nothing false, and is a byte nobody signed."""
    as_it_came = tsp.TimeStampResp.load(answer())["time_stamp_token"].dump()
    with pytest.raises(ValueError, match="one form"):
        read_stamp(as_it_came, IMPRINT)


# ------------------------------------------------------------------ sealed files, attacked


def with_unsigned(data: bytes, change: Callable[[Any], None]) -> bytes:
    """A sealed file whose container is changed beside what its signature covers."""
    frame = cut_at_seal(data)
    assert isinstance(frame, Frame)
    container = cms.ContentInfo.load(frame.container)
    signer = container["content"]["signer_infos"][0]
    change(signer)
    container["content"]["signer_infos"] = [signer]
    old, new = frame.container.hex().upper().encode(), container.dump(force=True).hex().upper().encode()
    place = data.index(old)
    room = data.index(b">", place) - place
    assert len(new) <= room
    return b"".join((data[:place], new.ljust(room, b"0"), data[place + room :]))


def _attribute(held: bytes) -> cms.CMSAttributes:
    one = {"type": "signature_time_stamp_token", "values": [cms.ContentInfo.load(held)]}
    return cms.CMSAttributes([cms.CMSAttribute(one)])


@pytest.mark.refuses("P11 11.30")
def test_a_time_stamp_taken_out(stamped: bytes, key: SealKey) -> None:
    """It lies outside what the seal signs; the seal says that it is there."""
    bare = with_unsigned(stamped, lambda signer: signer.__delitem__("unsigned_attrs"))
    assert codes(opened(bare, key)) == {"seal.time-stamp"}


@pytest.mark.refuses("P11 11.30")
def test_a_time_stamp_put_on_a_seal_that_had_none(raw: bytes, stamped: bytes, key: SealKey) -> None:
    bare = seal(raw, key, SEALED_AT, OF_CERTIFICATE)
    mine = GOOD.stamp(hashlib.sha256(signature_of(bare)).digest())
    added = with_unsigned(bare, lambda signer: signer.__setitem__("unsigned_attrs", _attribute(mine)))
    found = opened(added, key)
    assert isinstance(found, tuple)
    assert [one.what for one in found] == ["The seal has a time-stamp it does not speak of."]
    said = f"/Reason ({OF_CERTIFICATE}".encode()
    place = stamped.index(said) + len(said)
    reworded = stamped[:place] + b" " + stamped[place + 1 :]
    assert codes(opened(reworded, key)) == {"seal.altered"}, "the reason is under the seal"


def signature_of(data: bytes) -> bytes:
    frame = cut_at_seal(data)
    assert isinstance(frame, Frame)
    made: bytes = cms.ContentInfo.load(frame.container)["content"]["signer_infos"][0]["signature"].native
    return made


@pytest.mark.refuses("P11 11.30")
def test_the_time_stamp_of_another_seal(stamped: bytes, raw: bytes, key: SealKey) -> None:
    later = seal(raw, key, SEALED_AT + timedelta(seconds=1), OF_CERTIFICATE, GOOD.stamp)
    theirs = cms.ContentInfo.load(cut_at_seal(later).container)["content"]["signer_infos"][0]["unsigned_attrs"]  # type: ignore[union-attr]
    swapped = with_unsigned(stamped, lambda signer: signer.__setitem__("unsigned_attrs", theirs))
    found = opened(swapped, key)
    assert codes(found) == {"seal.time-stamp"}
    assert isinstance(found, tuple)
    assert "imprint" in found[0].what


@pytest.mark.refuses("P11 11.30")
def test_no_changed_byte_of_a_time_stamp_goes_unnoticed(stamped: bytes, key: SealKey) -> None:
    frame = cut_at_seal(stamped)
    assert isinstance(frame, Frame)
    place = stamped.index(frame.container.hex().upper().encode())
    for offset in range(0, 2 * len(frame.container), 67):
        changed = bytearray(stamped)
        changed[place + offset] = ord("0") if changed[place + offset] != ord("0") else ord("1")
        found = opened(bytes(changed), key)
        assert isinstance(found, tuple) or found.authority is None, offset


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize(
    ("at", "words"),
    [
        (SEALED_AT - timedelta(minutes=6), "before"),
        (SEALED_AT + timedelta(days=5000), "was not valid then"),
    ],
    ids=["before the seal was made", "after its key had run out"],
)
def test_a_time_the_seal_cannot_have(raw: bytes, key: SealKey, at: Any, words: str) -> None:  # noqa: ANN401
    stamper = replace(GOOD, at=at, wish=replace(GOOD.wish, last=at + timedelta(days=9)))
    found = opened(seal(raw, key, SEALED_AT, OF_CERTIFICATE, stamper.stamp), key)
    assert isinstance(found, tuple)
    assert [one.code for one in found][:1] == ["seal.time-stamp"]
    assert words in found[0].what


def test_what_getting_a_token_raises_comes_through(raw: bytes, key: SealKey) -> None:
    def silent(_: bytes) -> bytes:
        raise TimeoutError("nobody there")

    with pytest.raises(TimeoutError, match="nobody there"):
        seal(raw, key, SEALED_AT, OF_CERTIFICATE, silent)


def test_stampers_differ() -> None:
    assert other(serial=5).certificate != GOOD.certificate
    assert isinstance(read_stamp(token(answer()), IMPRINT), Stamp)
