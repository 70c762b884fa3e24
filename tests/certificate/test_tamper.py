"""Each way to touch a sealed file is caught, and named; nothing raises."""

from __future__ import annotations

import asyncio
import io
import re
from dataclasses import replace
from random import Random
from typing import Any

import pikepdf
import pytest
from asn1crypto import cms, core
from hypothesis import given
from hypothesis import strategies as st
from pyhanko.pdf_utils.generic import pdf_name, pdf_string
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import WARE

from benchseal.certificate.read_pdf import CODES_UNKNOWN, SealedPdf, open_certificate
from benchseal.certificate.render import render
from benchseal.certificate.seal import (
    OF_CERTIFICATE,
    SealKey,
    _AtStatedTime,
    _SealSigner,
    _UntouchedMeta,
    fingerprint,
    seal,
)
from benchseal.certificate.seal_bytes import Frame, Signer, cut_at_seal, read_signer


def pins(key: SealKey) -> set[str]:
    return {fingerprint(key.certificate)}


def codes(data: bytes, key: SealKey) -> set[str]:
    opened = open_certificate(data, pins(key))
    assert isinstance(opened, tuple), "the file was accepted"
    return {finding.code for finding in opened}


def gap(sealed: bytes) -> tuple[int, int]:
    found = re.search(rb"/ByteRange \[0 (\d+) (\d+) (\d+)\]", sealed)
    assert found
    return int(found[1]), int(found[2])


def with_container(sealed: bytes, container: bytes) -> bytes:
    """The file with another signature container in its gap, as the seal would write it."""
    start, end = gap(sealed)
    hexadecimal = container.hex().upper().encode().ljust(end - start - 2, b"0")
    assert len(hexadecimal) == end - start - 2
    return sealed[: start + 1] + hexadecimal + sealed[end - 1 :]


def container(sealed: bytes) -> cms.ContentInfo:
    frame = cut_at_seal(sealed)
    assert isinstance(frame, Frame)
    return cms.ContentInfo.load(frame.container)


@pytest.mark.refuses("P11 11.30")
def test_any_byte_flipped(sealed: bytes, key: SealKey) -> None:
    chance = Random(20260119)  # noqa: S311  a seed, so that a failure can be repeated
    for _ in range(150):
        at, bit = chance.randrange(len(sealed)), chance.randrange(8)
        changed = bytearray(sealed)
        changed[at] ^= 1 << bit
        assert isinstance(open_certificate(bytes(changed), pins(key)), tuple), (at, bit)


@pytest.mark.parametrize("step", [29, pytest.param(1, marks=pytest.mark.long)], ids=["each 29th", "each"])
def test_bytes_of_the_container(sealed: bytes, step: int) -> None:
    """The signature is not covered by its own digest, so every byte of it is tried: none may change unnoticed."""
    frame = cut_at_seal(sealed)
    assert isinstance(frame, Frame)
    assert isinstance(read_signer(frame), Signer), "or the test could not fail"
    for at in range(0, len(frame.container), step):
        changed = bytearray(frame.container)
        changed[at] ^= 1 << at % 8
        assert not isinstance(read_signer(replace(frame, container=bytes(changed))), Signer), at


def test_each_byte_of_the_padding(sealed: bytes) -> None:
    start, end = gap(sealed)
    frame = cut_at_seal(sealed)
    assert isinstance(frame, Frame)
    filled = start + 1 + 2 * len(frame.container)
    assert end - 1 - filled > 1000, "there is padding to try"
    for at in (start, end - 1, *range(filled, end - 1)):
        changed = sealed[:at] + b"1" + sealed[at + 1 :]
        assert not isinstance(cut_at_seal(changed), Frame), at


@pytest.mark.parametrize("junk", [b"\n", b"%", b"junk", b"\0" * 512, b"\n%%EOF\n"])
def test_junk_after_the_end(sealed: bytes, key: SealKey, junk: bytes) -> None:
    assert codes(sealed + junk, key) == {"seal.not-whole-file"}


def test_cut_short(sealed: bytes, key: SealKey) -> None:
    assert codes(sealed[:-1], key) == {"seal.not-whole-file"}
    for length in (0, 5, 1000, len(sealed) // 2, len(sealed) - 700, len(sealed) - 300):
        assert codes(sealed[:length], key) <= {"seal.not-whole-file", "seal.missing", "seal.not-a-pdf"}


def test_junk_before_the_start(sealed: bytes, key: SealKey) -> None:
    assert codes(b"\n" + sealed, key) == {"seal.not-a-pdf"}


@pytest.mark.refuses("P11 11.30")
def test_an_incremental_update(sealed: bytes, key: SealKey) -> None:
    writer = IncrementalPdfFileWriter(io.BytesIO(sealed))
    writer.root[pdf_name("/Note")] = pdf_string("harmless")
    writer.update_root()  # type: ignore[no-untyped-call]
    out = io.BytesIO()
    writer.write(out)  # type: ignore[no-untyped-call]
    assert codes(out.getvalue(), key) == {"seal.not-whole-file"}


def test_saved_again(sealed: bytes, key: SealKey) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(sealed)) as pdf:
        pdf.save(out)
    assert codes(out.getvalue(), key) & {"seal.not-whole-file", "seal.gap", "seal.altered"}


@pytest.mark.refuses("P11 11.30")
def test_evidence_swapped(sealed: bytes, key: SealKey) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(sealed)) as pdf:
        pdf.attachments["evidence.json"] = pikepdf.AttachedFileSpec(pdf, b"{}", filename="evidence.json")
        pdf.save(out)
    assert codes(out.getvalue(), key).isdisjoint(CODES_UNKNOWN)


def test_unsealed(raw: bytes, key: SealKey) -> None:
    assert codes(raw, key) == {"seal.missing"}


def test_sealed_with_another_key(raw: bytes, key: SealKey, other_key: SealKey) -> None:
    other = seal(raw, other_key, SEALED_AT, OF_CERTIFICATE)
    assert codes(other, key) == {"seal.key-unknown"}
    assert open_certificate(other, ()) != ()


def test_another_key_and_altered_is_altered(raw: bytes, key: SealKey, other_key: SealKey) -> None:
    other = bytearray(seal(raw, other_key, SEALED_AT, OF_CERTIFICATE))
    other[1000] ^= 1
    assert codes(bytes(other), key) == {"seal.altered"}


@pytest.mark.refuses("P11 11.30", "P11 11.70")
def test_certificate_put_in_place_of_another(raw: bytes, sealed: bytes, key: SealKey, other_key: SealKey) -> None:
    """The pinned certificate copied into a container that another key signed."""
    other = container(seal(raw, other_key, SEALED_AT, OF_CERTIFICATE))
    other["content"]["certificates"] = container(sealed)["content"]["certificates"]
    assert "seal.altered" in codes(with_container(sealed, other.dump(force=True)), key)


class Regardless(PdfSigner):
    def _enforce_certification_constraints(self, reader: object) -> None:
        pass


@pytest.mark.refuses("P11 11.30")
def test_two_signatures(sealed: bytes, key: SealKey, other_key: SealKey) -> None:
    """A second approval signature after the seal, by a signer that ignores what the seal forbids."""
    meta = PdfSignatureMetadata(field_name="Second", md_algorithm="sha256", subfilter=SigSeedSubFilter.PADES)
    writer = IncrementalPdfFileWriter(io.BytesIO(sealed))
    signer = Regardless(meta, _SealSigner(other_key), new_field_spec=SigFieldSpec("Second"))
    twice = asyncio.run(signer.async_sign_pdf(writer, bytes_reserved=8192)).getvalue()
    assert codes(twice, key) == {"seal.several"}


@pytest.mark.parametrize(
    ("settings", "field", "code"),
    [
        pytest.param({"certify": False}, "Seal", "seal.structure", id="does not certify"),
        pytest.param(
            {"certify": True, "docmdp_permissions": MDPPerm.FILL_FORMS}, "Seal", "seal.structure", id="permits changes"
        ),
        pytest.param(
            {"certify": True, "docmdp_permissions": MDPPerm.NO_CHANGES}, "Other", "seal.structure", id="other field"
        ),
    ],
)
def test_our_own_key_but_not_a_seal(raw: bytes, key: SealKey, settings: dict[str, Any], field: str, code: str) -> None:
    meta = PdfSignatureMetadata(field_name=field, md_algorithm="sha256", subfilter=SigSeedSubFilter.PADES, **settings)
    writer = _UntouchedMeta(io.BytesIO(raw))
    signer = _AtStatedTime(meta, _SealSigner(key), new_field_spec=SigFieldSpec(field))
    signer.signed_at = SEALED_AT
    data = asyncio.run(signer.async_sign_pdf(writer, bytes_reserved=8192)).getvalue()
    found = codes(data, key)
    assert code in found
    assert found <= {code, "seal.page-form"}  # the layout of the file then differs too


def test_sealed_with_other_attachments(key: SealKey, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("benchseal.certificate.seal._demand_whole", lambda _writer: None)
    for wrong in (
        ATTACHED[:1],
        (*ATTACHED, replace(ATTACHED[0], name="more.json")),
        (ATTACHED[0], replace(ATTACHED[1], relationship="Source")),
    ):
        rendered = render(WARE, wrong, SEALED_AT)
        assert isinstance(rendered, bytes)
        assert codes(seal(rendered, key, SEALED_AT, OF_CERTIFICATE), key) == {"seal.attachments"}


def test_sealed_outside_the_life_of_the_certificate(raw: bytes, key: SealKey, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("benchseal.certificate.seal._demand_time", lambda _key, _time: None)
    early = seal(raw, key, SEALED_AT.replace(year=2020), OF_CERTIFICATE)
    assert "seal.time" in codes(early, key)


@pytest.mark.parametrize(
    ("written", "code"),
    [
        pytest.param(b"/ByteRange null", "seal.missing", id="null"),
        pytest.param(b"/ByteRange [0 0 0 0]", "seal.not-whole-file", id="nothing covered"),
        pytest.param(b"/ByteRange []", "seal.missing", id="empty"),
        pytest.param(b"/ByteRange [0 10 5 9]", "seal.not-whole-file", id="backwards"),
        pytest.param(b"/ByteRange [-1 2 3 4]", "seal.missing", id="negative"),
    ],
)
def test_byte_range_rewritten(sealed: bytes, key: SealKey, written: bytes, code: str) -> None:
    found = re.search(rb"/ByteRange \[[^\]]*\] *", sealed)
    assert found
    changed = sealed[: found.start()] + written.ljust(len(found[0])) + sealed[found.end() :]
    assert codes(changed, key) == {code}


def test_gap_moved_over_other_bytes(sealed: bytes, key: SealKey) -> None:
    """The same lengths, but the gap elsewhere: pyHanko alone counts the bytes and is content."""
    start, end = gap(sealed)
    old = f"[0 {start} {end} {len(sealed) - end}]".encode()
    new = f"[0 {start - 100} {end - 100} {len(sealed) - end + 100}]".encode()
    assert codes(sealed.replace(old.ljust(len(new)), new.ljust(len(old))), key) == {"seal.gap"}


def test_contents_zeroed(sealed: bytes, key: SealKey) -> None:
    start, end = gap(sealed)
    zeros = sealed[: start + 1] + b"0" * (end - start - 2) + sealed[end - 1 :]
    assert codes(zeros, key) <= {"seal.gap", "seal.container"}


def test_contents_in_another_spelling(sealed: bytes, key: SealKey) -> None:
    start, end = gap(sealed)
    lower = sealed[:start] + sealed[start:end].lower() + sealed[end:]
    assert codes(lower, key) == {"seal.gap"}


def test_something_hidden_in_the_padding(sealed: bytes, key: SealKey) -> None:
    _, end = gap(sealed)
    assert codes(sealed[: end - 9] + b"DEADBEEF" + sealed[end - 1 :], key) == {"seal.gap"}


def test_something_hidden_in_the_container(sealed: bytes, key: SealKey) -> None:
    """Unsigned attributes are not covered by any digest; the standard allows them, the seal does not."""
    info = container(sealed)
    info["content"]["signer_infos"][0]["unsigned_attrs"] = [
        {"type": "1.2.3.4", "values": [core.Any(core.OctetString(b"hidden"))]}
    ]
    assert codes(with_container(sealed, info.dump(force=True)), key) == {"seal.container"}


def test_one_more_certificate_in_the_container(sealed: bytes, key: SealKey, raw: bytes, other_key: SealKey) -> None:
    info = container(sealed)
    other = container(seal(raw, other_key, SEALED_AT, OF_CERTIFICATE))
    both = [info["content"]["certificates"][0], other["content"]["certificates"][0]]
    info["content"]["certificates"] = cms.CertificateSet(both)
    assert "seal.container" in codes(with_container(sealed, info.dump(force=True)), key)


@given(st.binary(max_size=300))
def test_any_bytes_are_answered(data: bytes) -> None:
    assert isinstance(open_certificate(data, {"00" * 32}), tuple)
    assert isinstance(open_certificate(b"%PDF-1.7\n" + data, {"00" * 32}), tuple)


def test_a_file_that_is_too_large_is_not_read(key: SealKey) -> None:
    assert codes(b"%PDF-" + bytes(64 * 1024 * 1024), key) == {"seal.too-large"}


def test_a_parser_that_breaks_is_a_finding(sealed: bytes, key: SealKey, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_: object, **__: object) -> None:
        raise RecursionError

    monkeypatch.setattr("benchseal.certificate.read_pdf.PdfFileReader", breaks)
    assert codes(sealed, key) == {"seal.unreadable"}
    found = open_certificate(sealed, pins(key))
    assert isinstance(found, tuple)
    assert found[0].what == "The file cannot be read as a sealed PDF: its inside is not built as that of a PDF is."


def test_every_finding_says_what_to_do(raw: bytes, key: SealKey) -> None:
    (finding,) = open_certificate(raw, pins(key))  # type: ignore[misc]
    assert finding.what.endswith(".")
    assert finding.remedy.endswith(".")


def test_an_accepted_file_is_no_tuple(sealed: bytes, key: SealKey) -> None:
    assert isinstance(open_certificate(sealed, pins(key)), SealedPdf)
