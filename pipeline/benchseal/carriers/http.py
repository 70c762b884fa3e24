"""Deliveries by HTTP: one PUT for each file, under a key that makes a repeat one delivery (``Idempotency-Key``).

``If-None-Match: *`` (RFC 9110, 13.1.2) asks the server to keep a file that is there; ``Content-Digest`` (RFC 9530) lets
it check the bytes. Redirects are not followed: the secret goes where the profile says and nowhere else.
"""

from __future__ import annotations

import contextlib
import hashlib
import http.client
import socket
import ssl
import threading
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

ANSWER_S: Final = 30.0
WHOLE_S: Final = 60.0
_BYTES_IN_A_SECOND: Final = 64 * 1024  # what is large may take longer
_PAUSE: Final = frozenset({408, 425, 429, 500, 502, 503, 504})
_TAKEN: Final = frozenset({409, 412})
_TYPES: Final[Mapping[str, str]] = {
    "csv": "text/csv", "txt": "text/plain", "json": "application/json", "jsonl": "application/jsonl", "sig":
    "application/x-pem-file", "pdf": "application/pdf", "parquet": "application/vnd.apache.parquet",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class HttpPlace:
    """url: of the folder, files are put below it. secret: a bearer token, empty for none.

    read_back: whether a file is fetched again before it counts as there; where not, the server's word is all there is.
    """

    url: str
    secret: str = field(repr=False, default="")
    read_back: bool = True

    @property
    def words(self) -> str:
        """For people: without the secret."""
        return self.url


@dataclass(frozen=True, slots=True)
class HttpCarrier:
    """One address. answer_s: longest silence of a server; whole_s: of one request, and more for a large file."""

    place: HttpPlace
    patience: Patience = field(default_factory=Patience)
    context: ssl.SSLContext | None = None
    answer_s: float = ANSWER_S
    whole_s: float = WHOLE_S

    def carry(self, delivery_id: str, files: Mapping[str, bytes]) -> Carried:
        """See ``Carrier``."""
        placed: list[str] = []
        already: list[str] = []
        begun = self.patience.clock()
        for name, data in files.items():
            is_new = self.patience.tried(lambda: self._put(delivery_id, name, data), begun)  # noqa: B023  used at once
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
            there, held = self._asked("GET", name, b"", {}, len(data))
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

    def _asked(
        self, method: str, name: str, body: bytes, headers: Mapping[str, str], size: int = 0
    ) -> tuple[int, bytes]:
        """Status and body of one answer, of which ``size`` bytes and one are read. Raises Stopped where there is none.

        In a thread of its own: a server that sends a byte now and then, or a name that is looked up for ever, must not
        keep an export, and its lock, for longer than was said.
        """
        parts = urlsplit(self.place.url)
        connection: http.client.HTTPConnection
        host, port = parts.hostname or "", parts.port
        if parts.scheme == "https":
            context = self.context or ssl.create_default_context()
            connection = http.client.HTTPSConnection(host, port, timeout=self.answer_s, context=context)
        else:
            connection = http.client.HTTPConnection(host, port, timeout=self.answer_s)
        own = {"Authorization": f"Bearer {self.place.secret}"} if self.place.secret else {}
        got: list[tuple[int, bytes] | BaseException] = []

        def ask() -> None:
            try:
                connection.request(method, f"{parts.path.rstrip('/')}/{quote(name)}", body, {**own, **headers})
                answer = connection.getresponse()
                got.append((answer.status, answer.read(size + 1)))
            except BaseException as fault:  # noqa: BLE001  raised again by who waits
                got.append(fault)

        asking = threading.Thread(target=ask, daemon=True)
        asking.start()
        limit_s = self.whole_s + max(len(body), size) / _BYTES_IN_A_SECOND
        asking.join(limit_s)
        late = asking.is_alive()  # asked first: what comes of an answer that is cut here is none
        _ended(connection)
        if late or not got:
            raise unreachable(self.place.words, f"the server did not answer whole within {limit_s:.0f} seconds")
        if isinstance(got[0], BaseException):
            raise self._fault(got[0]) from None
        return got[0]

    def _fault(self, fault: BaseException) -> BaseException:
        """What is said of a request that failed; never what a server that speaks another language sent."""
        words = self.place.words
        if isinstance(fault, ssl.SSLCertVerificationError):
            return refused_there(words, f"the server's certificate is not trusted ({fault.verify_message})")
        if isinstance(fault, OSError):
            return unreachable(words, str(fault) or type(fault).__name__)
        return unreachable(words, "the answer is no HTTP") if isinstance(fault, http.client.HTTPException) else fault


def _ended(connection: http.client.HTTPConnection) -> None:
    """Close the connection; one that is still being read is shut first, so that its thread ends."""
    with contextlib.suppress(OSError, AttributeError):
        connection.sock.shutdown(socket.SHUT_RDWR)
    with contextlib.suppress(OSError):
        connection.close()
