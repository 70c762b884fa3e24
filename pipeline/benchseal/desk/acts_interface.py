"""Acts on tokens of the reading interface: as values, and who may do them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ADMINISTRATOR, APPROVER, ActRow, Signer
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class MakeToken:
    """Let one system read. scopes: what; customers: of whom, empty for all. until: last day, ``YYYY-MM-DD``, UTC."""

    system: str
    scopes: tuple[str, ...]
    customers: tuple[str, ...]
    until: str
    reason: str


@dataclass(frozen=True, slots=True)
class RevokeToken:
    """From now on a token opens nothing."""

    token: str
    reason: str


INTERFACE: tuple[ActRow, ...] = (
    ActRow(
        MakeToken,
        "token make",
        (Signer(frozenset({ADMINISTRATOR}), Meaning.APPROVED), Signer(frozenset({APPROVER}), Meaning.APPROVED)),
        ("token.agreed", "token.made"),
        "interface_tokens:make_token",
        "let one system read released results or certificates, for a time; its secret is shown once",
    ),
    ActRow(
        RevokeToken,
        "token revoke",
        (Signer(frozenset({ADMINISTRATOR, APPROVER}), password=True),),
        ("token.revoked",),
        "interface_tokens:revoke_token",
        "let a token open nothing from now on",
    ),
)
