"""Deliveries by HTTP: one PUT for each file, under a key that makes a repeat one delivery (``Idempotency-Key``).

``If-None-Match: *`` (RFC 9110, 13.1.2) asks the server to keep a file that is there; ``Content-Digest`` (RFC 9530) lets
it check the bytes. Redirects are not followed: the secret goes where the profile says and nowhere else.
"""

from __future__ import annotations

import hashlib
import http.client
import ssl
from base64 import b64encode
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final
from urllib.parse import quote, urlsplit

from benchseal.carriers.carrier import (
    Carried,
    Patience,
    disk_full,
    name_taken,
    not_permitted,
    refused_there,
    unreachable,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

WAIT_S: Final = 60.0
_PAUSE: Final = frozenset({408, 425, 429, 500, 502, 503, 504})
_TAKEN: Final = frozenset({409, 412})
_TYPES: Final[Mapping[str, str]] = {
    "csv": "text/csv", "txt": "text/plain", "json": "application/json", "jsonl": "application/jsonl", "sig":
    "application/x-pem-file", "pdf": "application/pdf", "parquet": "application/vnd.apache.parquet",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class HttpPlace:
    """url: of the folder, files are put below it. secret: a bearer token, empty for none."""

    url: str
    secret: str = field(repr=False, default="")

    @property
    def words(self) -> str:
        """For people: without the secret."""
        return self.url


@dataclass(frozen=True, slots=True)
class HttpCarrier:
    """One address."""

    place: HttpPlace
    patience: Patience = field(default_factory=Patience)
    context: ssl.SSLContext | None = None

    def carry(self, delivery_id: str, files: Mapping[str, bytes]) -> Carried:
        """See ``Carrier``."""
        placed: list[str] = []
        already: list[str] = []
        for name, data in files.items():
            is_new = self.patience.tried(lambda: self._put(delivery_id, name, data))  # noqa: B023  used at once
            (placed if is_new else already).append(name)
        return Carried(tuple(placed), tuple(already))

    def probe(self) -> str:
        """See ``Carrier``."""
        return self.patience.tried(self._look)

    def _look(self) -> str:
        status, _ = self._asked("OPTIONS", "", b"", {})
        if status in {401, 403}:
            raise not_permitted(self.place.words, f"the server answers {status}")
        if status in _PAUSE:
            raise unreachable(self.place.words, f"the server answers {status}")
        return f"{self.place.words}: the server answers {status}."

    def _put(self, delivery_id: str, name: str, data: bytes) -> bool:
        """Whether the file is new there."""
        where = f"{self.place.words.rstrip('/')}/{name}"
        checksum = b64encode(hashlib.sha256(data).digest()).decode()
        status, _ = self._asked(
            "PUT",
            name,
            data,
            {
                "Idempotency-Key": f'"{delivery_id}/{name}"',
                "If-None-Match": "*",
                "Content-Digest": f"sha-256=:{checksum}:",
                "Content-Type": _TYPES.get(name.rpartition(".")[2], "application/octet-stream"),
            },
        )
        if 200 <= status < 300:
            return True
        if status in _TAKEN:
            there, held = self._asked("GET", name, b"", {})
            if there == 200 and held == data:
                return False
            raise name_taken(where)
        if status in {401, 403}:
            raise not_permitted(where, f"the server answers {status}")
        if status == 507:
            raise disk_full(where, "the server answers 507, it has no space left")
        if status in _PAUSE:
            raise unreachable(where, f"the server answers {status}")
        raise refused_there(where, f"the server answers {status}")

    def _asked(self, method: str, name: str, body: bytes, headers: Mapping[str, str]) -> tuple[int, bytes]:
        """Status and body of one answer. Raises Stopped where there is none."""
        parts = urlsplit(self.place.url)
        connection: http.client.HTTPConnection
        if parts.scheme == "https":
            context = self.context or ssl.create_default_context()
            connection = http.client.HTTPSConnection(parts.hostname or "", parts.port, timeout=WAIT_S, context=context)
        else:
            connection = http.client.HTTPConnection(parts.hostname or "", parts.port, timeout=WAIT_S)
        own = {"Authorization": f"Bearer {self.place.secret}"} if self.place.secret else {}
        try:
            connection.request(method, f"{parts.path.rstrip('/')}/{quote(name)}", body, {**own, **headers})
            answer = connection.getresponse()
            return answer.status, answer.read(len(body) + 1 if method == "PUT" else None)
        except ssl.SSLCertVerificationError as fault:
            raise refused_there(
                self.place.words, f"the server's certificate is not trusted ({fault.verify_message})"
            ) from None
        except (OSError, http.client.HTTPException) as fault:
            raise unreachable(self.place.words, str(fault) or type(fault).__name__) from None
        finally:
            connection.close()
