"""The laboratory's own layout of the certificate: body of the page and rules of style. One document of a site."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from benchseal.records.canonical import Digest

TEMPLATE_ID: Final = "CERTIFICATE"


@dataclass(frozen=True, slots=True)
class CertificateTemplate:
    """How pages of certificates are laid out. page: Jinja, the body of the page; empty: as the program ships it.

    style: rules of CSS after those of the program; may be empty.
    """

    kind: Literal["certificate_template"]
    id: Literal["CERTIFICATE"]
    title: str
    page: str
    style: str


@dataclass(frozen=True, slots=True)
class ShippedTemplate:
    """By which templates of the program a page was made. id: of the kind of paper; digest: of their names and bytes."""

    id: str
    digest: Digest
