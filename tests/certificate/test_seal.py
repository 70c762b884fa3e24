from __future__ import annotations

import hashlib
import io
import re
import shutil
import subprocess
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.certificate.conftest import ATTACHED, EVIDENCE, SEALED_AT, SUPPLEMENT, make_key
from tests.certificate.demo_views import LOZENGE, WARE
from tests.certifying import curve_key, leaf

from benchseal.certificate.read_pdf import SealedPdf, open_certificate
from benchseal.certificate.render import render
from benchseal.certificate.seal import OF_CERTIFICATE, SealKey, fingerprint, seal
from benchseal.certificate.view import row_is_printed

if TYPE_CHECKING:
    from pathlib import Path


def pins(key: SealKey) -> set[str]:
    return {fingerprint(key.certificate)}


def test_the_seal_only_adds(raw: bytes, sealed: bytes) -> None:
    assert sealed.startswith(raw)
    assert len(sealed) - len(raw) < 12_000


def test_a_sealed_certificate_opens(raw: bytes, sealed: bytes, key: SealKey) -> None:
    opened = open_certificate(sealed, pins(key))
    assert isinstance(opened, SealedPdf), opened
    assert opened.signer == "Tern Quay Laboratory"
    assert opened.fingerprint == fingerprint(key.certificate)
    assert opened.signed_at == SEALED_AT
    assert (opened.evidence, opened.supplement) == (EVIDENCE, SUPPLEMENT)
    assert opened.unsealed_sha256 == hashlib.sha256(raw).hexdigest()
    assert opened.sealed_sha256 == hashlib.sha256(sealed).hexdigest()
    assert all(row_is_printed(row, opened.pages) for row in LOZENGE.results)


def test_several_pins_are_fine(sealed: bytes, key: SealKey, other_key: SealKey) -> None:
    assert isinstance(open_certificate(sealed, pins(key) | pins(other_key)), SealedPdf)


def test_it_opens_after_the_certificate_has_run_out() -> None:
    """Judged at the stated time: the limit that the module names."""
    short = make_key(life_days=1)
    rendered = render(WARE, ATTACHED, SEALED_AT)
    assert isinstance(rendered, bytes)
    assert isinstance(open_certificate(seal(rendered, short, SEALED_AT, OF_CERTIFICATE), pins(short)), SealedPdf)


def test_info_still_equals_xmp_and_the_version_stays(raw: bytes, sealed: bytes) -> None:
    """pyHanko would change both; the override of its private method must go on working."""
    with pikepdf.open(io.BytesIO(raw)) as before, pikepdf.open(io.BytesIO(sealed)) as after:
        assert before.Root.Metadata.read_bytes() == after.Root.Metadata.read_bytes()
        assert dict(before.docinfo) == dict(after.docinfo)
        assert after.pdf_version == "1.7"
        assert after.Root.get("/Version") in (None, "/1.7")
        assert len(after.Root.AF) == 2


@pytest.mark.clause("P11 11.30")
def test_the_seal_is_invisible_certifying_and_final(sealed: bytes) -> None:
    with pikepdf.open(io.BytesIO(sealed)) as pdf:
        (field,) = pdf.Root.AcroForm.Fields
        assert str(field.T) == "Seal"
        assert [float(corner) for corner in field.Rect] == [0, 0, 0, 0]
        assert field.V.SubFilter == "/ETSI.CAdES.detached"
        assert int(field.F) & 4, "printed flag, ISO 19005-3 6.3.2"
        assert pdf.Root.Perms.DocMDP.objgen == field.V.objgen
        assert int(field.V.Reference[0].TransformParams.P) == 1
        assert str(field.V.M).startswith("D:20260119092218")
        assert str(field.V.Reason) == OF_CERTIFICATE


def test_a_weak_or_foreign_key_is_refused(key: SealKey, other_key: SealKey) -> None:
    with pytest.raises(ValueError, match="3072"):
        make_key(2048)
    with pytest.raises(ValueError, match="3072"):
        SealKey(key.signer, leaf(key=curve_key()))
    with pytest.raises(ValueError, match="another key"):
        SealKey(key.signer, other_key.certificate)


@pytest.mark.parametrize("days", [-31, 3651], ids=["before its life", "after its life"])
def test_no_seal_outside_the_life_of_the_certificate(raw: bytes, key: SealKey, days: int) -> None:
    with pytest.raises(ValueError, match="not valid"):
        seal(raw, key, SEALED_AT + timedelta(days=days), OF_CERTIFICATE)


def test_no_seal_at_a_naive_time(raw: bytes, key: SealKey) -> None:
    with pytest.raises(ValueError, match="aware"):
        seal(raw, key, datetime(2026, 1, 19), OF_CERTIFICATE)  # noqa: DTZ001  the point of the test


@pytest.mark.parametrize("attachments", [(), ATTACHED[:1], (*ATTACHED, ATTACHED[0])], ids=["none", "one", "three"])
def test_only_a_whole_certificate_is_sealed(key: SealKey, attachments: tuple) -> None:  # type: ignore[type-arg]
    rendered = render(WARE, attachments, SEALED_AT)
    assert isinstance(rendered, bytes)
    with pytest.raises(RuntimeError, match="whole certificate"):
        seal(rendered, key, SEALED_AT, OF_CERTIFICATE)


def test_an_earlier_time_zone_is_kept_as_the_same_moment(raw: bytes, key: SealKey) -> None:
    from datetime import timezone  # noqa: PLC0415

    local = SEALED_AT.astimezone(timezone(timedelta(hours=1)))
    opened = open_certificate(seal(raw, key, local, OF_CERTIFICATE), pins(key))
    assert isinstance(opened, SealedPdf)
    assert opened.signed_at == SEALED_AT


@pytest.mark.skipif(shutil.which("pdfsig") is None, reason="poppler is not installed")
def test_poppler_agrees(sealed: bytes, tmp_path: Path) -> None:
    """An independent implementation (poppler's pdfsig, NSS)."""
    path = tmp_path / "sealed.pdf"
    path.write_bytes(sealed)
    done = subprocess.run(["pdfsig", str(path)], capture_output=True, text=True, check=False)  # noqa: S603, S607
    assert "Signature is Valid" in done.stdout
    assert "Total document signed" in done.stdout
    assert "Not total document signed" not in done.stdout
    assert re.search(r"Signature Field Name: Seal", done.stdout)
    assert "SHA-256" in done.stdout


@pytest.mark.skipif(shutil.which("pdfsig") is None, reason="poppler is not installed")
def test_poppler_sees_a_changed_byte(raw: bytes, sealed: bytes, tmp_path: Path) -> None:
    path = tmp_path / "changed.pdf"
    changed = bytearray(sealed)
    changed[len(raw) // 2] ^= 1
    path.write_bytes(bytes(changed))
    done = subprocess.run(["pdfsig", str(path)], capture_output=True, text=True, check=False)  # noqa: S603, S607
    assert "Signature is Valid" not in done.stdout


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault(sealed: bytes, tmp_path: Path) -> None:
    path = tmp_path / "sealed.pdf"
    path.write_bytes(sealed)
    done = subprocess.run(["qpdf", "--check", str(path)], capture_output=True, text=True, check=False)  # noqa: S603, S607
    assert done.returncode == 0, done.stdout + done.stderr
