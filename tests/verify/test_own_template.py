"""A page of the laboratory's own template is held to the same words, and its template to the version named."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.verify.making import Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.records.canonical import digest
from benchseal.records.certificate_template import TEMPLATE_ID, CertificateTemplate
from benchseal.records.run import DocumentRef
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import Evidence

OWN = CertificateTemplate("certificate_template", "CERTIFICATE", "Own", "", ".found { color: black }")
LOOP = replace(OWN, page="{% for a in range(99999) %}{% for b in range(99999) %}x{% endfor %}{% endfor %}")


def laid_out(content: Evidence, template: CertificateTemplate = OWN, sha256: str = "") -> Evidence:
    ref = DocumentRef(TEMPLATE_ID, 1, sha256 or digest(record_bytes(template)))
    return replace(content, template=(template,), template_ref=(ref,))


@pytest.mark.parametrize("template", [OWN, LOOP], ids=["a style", "a loop without end"])
def test_the_template_is_not_run_and_the_words_are_compared(template: CertificateTemplate) -> None:
    made = make(Plan(content=lambda content: laid_out(content, template)))
    assert report_on(made).word == "GENUINE"


@pytest.mark.refuses("P11 11.10(k)")
@pytest.mark.parametrize(
    "lie",
    [
        lambda content: laid_out(content, sha256="00" * 32),
        lambda content: replace(laid_out(content), template_ref=()),
        lambda content: replace(laid_out(content), template=()),
    ],
    ids=["digest", "no version", "no template"],
)
def test_a_template_that_was_not_approved_is_named(lie: Callable[[Evidence], Evidence]) -> None:
    assert "template" in failed(report_on(make(Plan(content=lie))))["documents"]
