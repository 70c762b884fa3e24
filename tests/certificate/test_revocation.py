"""Answers on revocation: lists and single ones, good and forged, made here by another library's builders."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from cryptography.hazmat.primitives.serialization import Encoding
from tests.certifying import LEAF, NOW, Wish, certified, chain, leaf, response, revocation_list, rsa_key

from benchseal.certificate.revocation import read_answers

if TYPE_CHECKING:
    from collections.abc import Callable

LATER = NOW + timedelta(days=2)
BEFORE = NOW - timedelta(days=1)
OCSP_SIGNING, MAIL = "1.3.6.1.5.5.7.3.9", "1.3.6.1.5.5.7.3.4"
MIDDLE, ROOT = chain()
OWN = leaf()
HELD = [OWN, MIDDLE, ROOT]


def responder(usage: str = OCSP_SIGNING, by: str = "middle") -> object:
    wish = Wish("Weir Lane Answers", issuer="Weir Lane Trust Seals", serial=9, extended=(usage,))
    return certified(wish, rsa_key("answers"), rsa_key(by))


def test_a_list_says_of_each_certificate_whether_it_was_revoked() -> None:
    (good,) = read_answers(revocation_list(MIDDLE, "middle", LATER, {77: BEFORE}), HELD)
    assert (good.certificate, good.said_at, good.revoked_at) == (OWN, LATER, None)
    (bad,) = read_answers(revocation_list(MIDDLE, "middle", LATER, {LEAF.serial: BEFORE}), HELD)
    assert bad.revoked_at == BEFORE
    (above,) = read_answers(revocation_list(ROOT, "root", LATER, {}), HELD)
    assert above.certificate == MIDDLE


def test_a_single_answer_by_the_issuer_or_by_whom_it_certified_for_that() -> None:
    for data in (
        response(OWN, MIDDLE, MIDDLE, "middle", LATER),
        response(OWN, MIDDLE, responder(), "answers", LATER),  # type: ignore[arg-type]
    ):
        (good,) = read_answers(data, HELD)
        assert (good.certificate, good.said_at, good.revoked_at) == (OWN, LATER, None)
    (bad,) = read_answers(response(OWN, MIDDLE, MIDDLE, "middle", LATER, BEFORE), HELD)
    assert bad.revoked_at == BEFORE


def _altered() -> bytes:
    data = bytearray(revocation_list(MIDDLE, "middle", LATER, {LEAF.serial: BEFORE}))
    data[-9] ^= 1
    return bytes(data)


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize(
    ("made", "words"),
    [
        pytest.param(lambda: b"", "no list", id="nothing"),
        pytest.param(lambda: OWN.public_bytes(Encoding.DER), "no list", id="a certificate"),
        pytest.param(_altered, "none of the certificates", id="an altered list"),
        pytest.param(
            lambda: revocation_list(MIDDLE, "leaf", LATER, {}),
            "none of the certificates",
            id="signed by the seal itself",
        ),
        pytest.param(
            lambda: response(OWN, MIDDLE, responder(MAIL), "answers", LATER),  # type: ignore[arg-type]
            "none of the certificates",
            id="a responder that is none",
        ),
        pytest.param(
            lambda: response(OWN, MIDDLE, responder(by="leaf"), "answers", LATER),  # type: ignore[arg-type]
            "none of the certificates",
            id="a responder of another authority",
        ),
        pytest.param(
            lambda: response(leaf(replace(LEAF, serial=88)), MIDDLE, MIDDLE, "middle", LATER),
            "none of the certificates",
            id="of another certificate",
        ),
    ],
)
def test_what_is_no_answer(made: Callable[[], bytes], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_answers(made(), HELD)
