"""A token of the reading interface: what one system may read, of whom, and until when. The secret stands nowhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias, get_args

Scope: TypeAlias = Literal["results", "certificates"]
SCOPES: Final[tuple[Scope, ...]] = get_args(Scope)


@dataclass(frozen=True, slots=True)
class InterfaceToken:
    """What was granted, as it is signed.

    token: ``SY-00001``. system: what it is made for. customers: empty for every customer. until: the last day, UTC.
    secret_mac: HMAC-SHA-256 (RFC 2104) of the secret under the site's own key for tokens, hexadecimal.
    """

    schema: Literal["interface_token/1"]
    token: str
    system: str
    scopes: tuple[Scope, ...]
    customers: tuple[str, ...]
    until: str
    secret_mac: str


@dataclass(frozen=True, slots=True)
class Caller:
    """A system whose token was found good. customers: empty for every customer."""

    token: str
    system: str
    scopes: frozenset[str]
    customers: frozenset[str]

    def may_see(self, customer: str) -> bool:
        """Whether what belongs to a customer is for this system."""
        return not self.customers or customer in self.customers
