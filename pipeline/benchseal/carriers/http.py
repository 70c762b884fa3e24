"""Deliveries by HTTP: one PUT for each file, under a key that makes a repeat one delivery (``Idempotency-Key``).

``If-None-Match: *`` (RFC 9110, 13.1.2) asks the server to keep a file that is there; ``Content-Digest`` (RFC 9530) lets
it check the bytes. A server's "done" is a word: the file is fetched again and compared, unless the profile says that
the server is not to be read. Redirects are not followed: the secret goes where the profile says and nowhere else.
"""

from __future__ import annotations

import contextlib
import hashlib
import http.client
import re
import socket
import ssl
from base64 import b64encode
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final
from urllib.parse import quote, urlsplit

from benchseal.carriers.carrier import (
    BYTES_IN_A_SECOND,
    WHOLE_S,
    Carried,
    Patience,
    disk_full,
    name_taken,
    name_taken_unread,
    not_kept,
    not_permitted,
    refused_there,
    secret_unfit,
    unreachable,
    within,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from email.message import Message

    from benchseal.problems import Stopped

ANSWER_S: Final = 30.0
_LARGEST_ANSWER: Final = 64 * 1024  # bytes of the body of an answer to a PUT that are looked at
_DONE: Final = frozenset({200, 201, 204})  # RFC 9110, 9.3.4: the only ones that say a PUT was carried out
_PAUSE: Final = frozenset({408, 425, 429, 500, 502, 503, 504})
_TAKEN: Final = frozenset({409, 412})
_DIGEST: Final = re.compile(r"(sha-256|sha-512)\s*=\s*:?([^:,;]*)", re.IGNORECASE)
_IN_A_PATH: Final = "/%:@!$&'()*+,;=~"  # RFC 3986, 3.3
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
        status = self._asked("OPTIONS", "", b"", {}).status
        if status in {401, 403}:
            raise not_permitted(self.place.words, f"the server answers {status}")
        if status in _PAUSE:
            raise unreachable(self.place.words, f"the server answers {status}")
        return f"{self.place.words}: the server answers {status}."

    def _put(self, delivery_id: str, name: str, data: bytes) -> bool:
        """Whether the file is new there."""
        where = f"{self.place.words.rstrip('/')}/{name}"
        checksum = b64encode(hashlib.sha256(data).digest()).decode()
        answer = self._asked(
            "PUT",
            name,
            data,
            {
                "Idempotency-Key": f'"{delivery_id}/{name}"',
                "If-None-Match": "*",
                "Content-Digest": f"sha-256=:{checksum}:",
                "Content-Type": _TYPES.get(name.rpartition(".")[2], "application/octet-stream"),
            },
            _LARGEST_ANSWER,
        )
        if answer.status in _DONE:
            self._require_kept(name, data, where, answer)
            return True
        if answer.status == 202:
            return self._taken_later(name, data, where)
        if answer.status in _TAKEN:
            return self._same(answer.status, name, data, where)
        raise _said_no(answer.status, where)

    def _require_kept(self, name: str, data: bytes, where: str, answer: _Answer) -> None:
        if not all(digest in _sums(data) | _sums(answer.body) for digest in answer.digests):
            raise not_kept(where, "the server answers with the digest of other bytes")
        if not self.place.read_back:
            return
        read = self._read(name, data, where)
        if read.status == 200:
            if read.body != data:
                raise not_kept(where)
            return
        why = f"the server says that it is there, and answers {read.status} when it is read"
        if read.status in {404, 410}:
            raise not_kept(where, f"{why}: lost, or taken away at once (then the profile says read_back: false)")
        raise refused_there(where, f"{why}; where the server is meant so, the profile says read_back: false")

    def _taken_later(self, name: str, data: bytes, where: str) -> bool:
        """After 202, "accepted, not carried out": only the file itself shows that it is there."""
        why = "the server answers 202: it may keep the file later"
        if not self.place.read_back:
            raise refused_there(where, f"{why}, and the profile says that it is not to be read")
        read = self._read(name, data, where)
        if read.status == 200 and read.body == data:
            return True
        if read.status in {200, 404, 410}:
            raise unreachable(where, why)
        raise refused_there(where, f"{why}, and {read.status} when it is read")

    def _same(self, status: int, name: str, data: bytes, where: str) -> bool:
        """False, for not new, where the file that has the name holds these bytes. Raises Stopped."""
        read = self._read(name, data, where)
        if read.status == 200:
            if read.body == data:
                return False
            raise name_taken(where)
        if read.status in {404, 410}:
            why = f"the server answers {status}, and {read.status} when the file is read"
            raise unreachable(where, why) if status == 412 else refused_there(where, f"{why}: there may be no folder")
        raise name_taken_unread(where, f"the server answers {read.status} when it is read")

    def _read(self, name: str, data: bytes, where: str) -> _Answer:
        read = self._asked("GET", name, b"", {"Cache-Control": "no-cache"}, len(data))
        if read.status in _PAUSE:
            raise unreachable(where, f"the server answers {read.status} when the file is read")
        begun = data.startswith(read.body) and read.body != data
        if read.is_cut or (begun and not read.is_whole):
            raise unreachable(where, "the file was cut off while it was read")
        return read

    def _asked(self, method: str, name: str, body: bytes, headers: Mapping[str, str], size: int = 0) -> _Answer:
        """One answer, of whose body ``size`` bytes and one are read. Raises Stopped where there is none in time.

        A server that sends a byte now and then, or a name that is looked up for ever, must not keep an export, and its
        lock, for longer than was said.
        """
        if not (self.place.secret.isascii() and self.place.secret.isprintable()):
            why = "it has a line break, or a character that no header can hold"
            raise secret_unfit(self.place.words, why)
        parts = urlsplit(self.place.url)
        path = f"{quote(parts.path.rstrip('/'), _IN_A_PATH)}/{quote(name)}"
        connection: http.client.HTTPConnection
        host, port = parts.hostname or "", parts.port
        if parts.scheme == "https":
            context = self.context or ssl.create_default_context()
            connection = http.client.HTTPSConnection(host, port, timeout=self.answer_s, context=context)
        else:
            connection = http.client.HTTPConnection(host, port, timeout=self.answer_s)
        connection.response_class = _Final
        own = {"Authorization": f"Bearer {self.place.secret}"} if self.place.secret else {}

        def ask() -> _Answer:
            connection.request(method, path, body, {**own, **headers})
            answer = connection.getresponse()
            stated = [*answer.headers.get_all("Content-Digest", ()), *answer.headers.get_all("Repr-Digest", ())]
            read = answer.read(size + 1)
            # What is left of a stated length, the library does not call a fault.
            ends = bool(answer.chunked) or answer.length == 0
            left = bool(answer.length) or not (answer.chunked or _is_length(answer.headers))
            is_cut = left and len(read) <= size
            return _Answer(answer.status, read, ends or len(read) > size, is_cut, _digests(stated))

        limit_s = self.whole_s + (size if method == "GET" else len(body)) / BYTES_IN_A_SECOND
        try:
            return within(limit_s, ask, self.place.words)
        except (OSError, UnicodeError, http.client.HTTPException) as fault:
            raise self._fault(fault) from None
        finally:
            _ended(connection)  # what comes of an answer that is cut here is none

    def _fault(self, fault: OSError | UnicodeError | http.client.HTTPException) -> Stopped:
        """What is said of a request that failed; never what a server that speaks another language sent."""
        words = self.place.words
        if isinstance(fault, ssl.SSLCertVerificationError):
            return refused_there(words, f"the server's certificate is not trusted ({fault.verify_message})")
        if isinstance(fault, OSError):
            return unreachable(words, str(fault) or type(fault).__name__)
        if isinstance(fault, UnicodeError):
            return refused_there(words, "no such address can be asked")
        return unreachable(words, "the answer is no HTTP")


@dataclass(frozen=True, slots=True)
class _Answer:
    """is_whole: whether an end too early would have been seen, or more is there than was asked for.

    is_cut: whether it ended before the length it states, or states none that can be (RFC 9112, 6.3 and 8).
    digests: of RFC 9530, as ``sha-256`` or ``sha-512`` and base64, of the answer's two fields for them.
    """

    status: int
    body: bytes
    is_whole: bool
    is_cut: bool
    digests: frozenset[tuple[str, str]]


class _Final(http.client.HTTPResponse):
    """An answer without those before it: the library passes over 100 alone (RFC 9110, 15.2: any 1xx)."""

    def _read_status(self) -> tuple[str, int, str]:
        while True:
            version, status, reason = super()._read_status()  # type: ignore[misc]  # not in the library's stubs
            if status == 101 or not 100 <= status < 200:
                return version, status, reason
            http.client.parse_headers(self.fp)


def _is_length(headers: Message) -> bool:
    """Whether no length is stated, or one that can be, said once or more often."""
    said = {one.strip() for stated in headers.get_all("Content-Length", ()) for one in str(stated).split(",")}
    return not said or (len(said) == 1 and said.pop().isdecimal())


def _digests(stated: list[str]) -> frozenset[tuple[str, str]]:
    """What is no base64 stays as it is, and fits nothing."""
    return frozenset((kind.lower(), value.strip()) for one in stated for kind, value in _DIGEST.findall(one))


def _sums(data: bytes) -> frozenset[tuple[str, str]]:
    return frozenset((f"sha-{made.digest_size * 8}", b64encode(made.digest()).decode())
                     for made in (hashlib.sha256(data), hashlib.sha512(data)))  # fmt: skip


def _said_no(status: int, where: str) -> Stopped:
    why = f"the server answers {status}"
    if status in {401, 403}:
        return not_permitted(where, why)
    if status == 507:
        return disk_full(where, f"{why}, it has no space left")
    return unreachable(where, why) if status in _PAUSE else refused_there(where, why)


def _ended(connection: http.client.HTTPConnection) -> None:
    """Close the connection; one that is still being read is shut first, so that its thread ends."""
    with contextlib.suppress(OSError, AttributeError):
        connection.sock.shutdown(socket.SHUT_RDWR)
    with contextlib.suppress(OSError):
        connection.close()
