"""The verification page over HTTP, and beside it, where a site is given, the reading interface: strict limits.

The page has two addresses, takes one file a time and keeps nothing; what the interface does stands in its module.

Standard library on purpose: what it has to do is small, and each limit stands here to be read. It speaks no TLS; it
listens on the machine's own address unless told otherwise, and then something that does belongs in front of it.
"""

from __future__ import annotations

import contextlib
import re
import socket
import threading
import time
from dataclasses import dataclass
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, Any, Final

from benchseal.problems import Problem, Refusal
from benchseal.verify.judge import judge
from benchseal.web import interface
from benchseal.web.form import file_of
from benchseal.web.pages import HEADERS, form_page, judgement_page, refusal_page
from benchseal.web.words import chosen, language_of, refusal

if TYPE_CHECKING:
    from benchseal.desk.site import Site
    from benchseal.problems import Notice
    from benchseal.records.printed_form import Language
    from benchseal.records.status_file import StatusFile
    from benchseal.verify.trust import Trust

LARGEST_BODY: Final = 16 * 1024 * 1024  # a certificate has some 200 kB
SECONDS: Final = 30.0  # for one visit, from its first byte to its last
AT_ONCE: Final = 8  # visits; more are told to come again
_CHUNK: Final = 64 * 1024
LOOPBACK: Final = frozenset({"127.0.0.1", "::1", "localhost"})
_ABSOLUTE: Final = re.compile(r"https?://([^/?#]+)([/?][^#]*|)", re.IGNORECASE)  # RFC 9112, 3.2.2
_HOST: Final = re.compile(r"(?:\[([^\]]*)\]|([^:]*))(?::[0-9]*)?")  # name or address, and a port (RFC 3986, 3.2)
_BLANKS: Final = " \t"  # around the value of a header they are no part of it (RFC 9110, 5.5)
_LENGTH: Final = re.compile("[0-9]{1,12}", re.ASCII)
_TOO_LONG: Final = {HTTPStatus.REQUEST_URI_TOO_LONG, HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE}
_TAKES: Final = {"/": "GET, HEAD", "/verify": "POST"}


@dataclass(frozen=True, slots=True)
class Limits:
    """Bytes of a body, seconds of a visit, visits at once."""

    body: int = LARGEST_BODY
    seconds: float = SECONDS
    at_once: int = AT_ONCE


class Refused(Exception):  # noqa: N818  it is an answer, not a fault
    """A visit that gets no check. what: an English sentence, with its places. more: further headers."""

    def __init__(self, status: HTTPStatus, what: str, more: dict[str, str] | None = None, **places: str) -> None:
        super().__init__(what)
        self.status, self.what, self.more, self.places = status, what, more, places


class VerificationServer(ThreadingHTTPServer):
    """Listens at once; ``serve_forever`` answers. port 0: any that is free."""

    daemon_threads = True
    block_on_close = False  # a slow visitor does not keep it from ending
    request_queue_size = 16

    def __init__(  # noqa: PLR0913, PLR0917  what it listens on, and what it uses
        self,
        host: str,
        port: int,
        trust: Trust | None,
        status: StatusFile | None = None,
        limits: Limits | None = None,
        site: Site | None = None,
    ) -> None:
        self.trust, self.status, self.limits, self.site = trust, status, limits or Limits(), site
        self.places = threading.BoundedSemaphore(self.limits.at_once)
        self.address_family = socket.AF_INET6 if ":" in host else socket.AF_INET
        super().__init__((host, port), _Visit)
        self.own_machine_only = host in LOOPBACK

    def server_bind(self) -> None:
        """Without asking the network for the machine's name, which the library would do here."""
        self.socket.bind(self.server_address)
        self.server_address = self.socket.getsockname()
        self.server_name, self.server_port = str(self.server_address[0]), int(self.server_address[1])

    def process_request(self, request: Any, client_address: Any) -> None:  # noqa: ANN401  the library's signature
        """A thread for the visit, where a place is free."""
        if self.places.acquire(blocking=False):
            super().process_request(request, client_address)
            return
        with contextlib.suppress(OSError):
            request.settimeout(1)
            request.sendall(b"HTTP/1.0 503 Service Unavailable\r\nRetry-After: 5\r\nContent-Length: 0\r\n\r\n")
        self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:  # noqa: ANN401
        """The visit itself, cut off when its time is over."""
        end = threading.Timer(self.limits.seconds, _cut, (request,))
        end.daemon = True
        end.start()
        try:
            super().process_request_thread(request, client_address)
        finally:
            end.cancel()
            self.places.release()

    def handle_error(self, request: object, client_address: object) -> None:
        """A visitor who went away, or was cut off, is no trouble of ours; nothing is written of them."""


def _cut(request: socket.socket) -> None:
    with contextlib.suppress(OSError):
        request.shutdown(socket.SHUT_RDWR)


class _Visit(BaseHTTPRequestHandler):
    """One request and its answer; the connection ends with it (HTTP/1.0)."""

    server: VerificationServer
    server_version, sys_version = "benchseal", ""
    protocol_version = "HTTP/1.0"
    authority = ""  # of an address in absolute form

    def setup(self) -> None:
        super().setup()
        self.connection.settimeout(self.server.limits.seconds)

    def do_GET(self) -> None:
        self._answered()

    def do_HEAD(self) -> None:
        self._answered()

    def do_POST(self) -> None:
        self._answered()

    def parse_request(self) -> bool:
        """As the library does; but any method of the interface's addresses gets the interface's own answer.

        An address in absolute form is taken (RFC 9112, 3.2.2): its own host counts, and ``Host`` does not.
        """
        parsed = super().parse_request()
        if parsed and (whole := _ABSOLUTE.fullmatch(self.path)):
            self.authority, self.path = whole[1], whole[2] if whole[2].startswith("/") else f"/{whole[2]}"
        if parsed and self._is_interface() and not hasattr(self, f"do_{self.command}"):
            self._interface(self.server.site)
            return False
        return parsed

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:  # noqa: ARG002
        """What the library refuses (a method, a line, headers too long): with our headers, and nothing of theirs."""
        self.request_version = self.protocol_version  # of a line that was not read there is none, and no answer's head
        status = HTTPStatus.METHOD_NOT_ALLOWED if code == HTTPStatus.NOT_IMPLEMENTED else HTTPStatus(code)
        refused = _no_request(status)
        if self._is_interface():
            done = interface.refusal(refused.status, _to_a_system(refused))
            self._give(done.status, done.headers, done.body)
        else:
            self._refuse(refused)
        if status in _TOO_LONG:
            self._let_go()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  the library's signature
        """Nothing is kept of a visit."""

    def _answered(self) -> None:
        if self._is_interface():
            self._interface(self.server.site)
            return
        try:
            self._own_visitor()
            page = self._page()
        except Refused as refused:
            self._refuse(refused)
            self._let_go()
        else:
            self._send(HTTPStatus.OK, page)

    def _is_interface(self) -> bool:
        """Whether an address of the interface is asked for; also in a request that could not be read any further."""
        path = getattr(self, "path", "") or self._path_unread()
        whole = _ABSOLUTE.fullmatch(path)
        return self.server.site is not None and (whole[2] if whole else path).startswith(interface.ROOT)

    def _path_unread(self) -> str:
        """The address in a first line that was too long, or else could not be read."""
        words = getattr(self, "raw_requestline", b"").split(b" ", 2)
        return words[1].decode("latin-1").strip() if len(words) > 1 else ""

    def _target(self) -> str:
        """The address as it was asked for: the library makes one stroke of several at its beginning."""
        words = self.requestline.split()
        return words[1] if len(words) > 1 and words[1].startswith("//") else self.path

    def _interface(self, site: Site | None) -> None:
        if site is None:
            raise AssertionError("asked before")
        told = tuple(one.strip(_BLANKS) for one in self.headers.get_all("Authorization", []))
        held = ", ".join(self.headers.get_all("If-None-Match", []))
        asked = interface.Asked(self.command, self._target(), told, held)
        try:
            self._own_visitor()
        except Refused as refused:
            done = interface.turned_away(site, asked, refused.status, _to_a_system(refused))
        else:
            done = interface.answer(site, asked)
        self._give(done.status, done.headers, done.body)
        if self.command not in {"GET", "HEAD"}:
            self._let_go()

    def _refuse(self, one: Refused) -> None:
        language = self._language()
        self._send(one.status, refusal_page(refusal(one.what, language, **one.places), language), one.more)

    def _language(self) -> Language:
        """What the visitor asks for; English where the request could not be read so far."""
        headers = getattr(self, "headers", None)
        accepted = headers.get("Accept-Language", "") if headers is not None else ""
        return language_of(getattr(self, "path", "").partition("?")[2], accepted)

    def _let_go(self) -> None:
        """Take what is still on its way, for a little: closing at once would lose the answer."""
        with contextlib.suppress(OSError):
            self.wfile.flush()
            self.connection.shutdown(socket.SHUT_WR)
            self.connection.settimeout(min(2.0, self.server.limits.seconds))
            for _ in range(LARGEST_BODY // _CHUNK):
                if not self.connection.recv(_CHUNK):
                    return

    def _own_visitor(self) -> None:
        """Another site's page may not send its visitors here, nor give this machine another name."""
        hosts, lengths = self.headers.get_all("Host", []), self.headers.get_all("Content-Length", [])
        host = self.authority or (hosts[0].strip(_BLANKS) if hosts else "")
        if len(hosts) > 1 or (self.command != "POST" and any(_LENGTH.fullmatch(one) is None for one in lengths)):
            raise _no_request(HTTPStatus.BAD_REQUEST)
        if self.server.own_machine_only and _name_of(host) not in LOOPBACK:
            raise Refused(HTTPStatus.MISDIRECTED_REQUEST, "This address is not one of this page.")
        origin = self.headers.get("Origin")
        if origin is not None and origin.partition("://")[2].lower() != host.lower():
            raise Refused(HTTPStatus.FORBIDDEN, "This request comes from another site.")

    def _page(self) -> str:
        path, mark, query = self.path.partition("?")
        takes, language = _TAKES.get(path), self._language()
        if takes is None or (mark and chosen(query) is None):
            raise Refused(HTTPStatus.NOT_FOUND, "There is nothing here. The page that checks certificates is at /.")
        if self.command not in takes.split(", "):
            raise Refused(HTTPStatus.METHOD_NOT_ALLOWED, "This address takes {takes}.", {"Allow": takes}, takes=takes)
        if self.command != "POST":
            return form_page(self.server.trust, language)
        found = file_of(self.headers.get("Content-Type", ""), self._body())
        if isinstance(found, str):
            raise Refused(HTTPStatus.BAD_REQUEST, found)
        return judgement_page(judge(found, self.server.trust, self.server.status), self.server.trust, language)

    def _body(self) -> bytes:
        stated = self.headers.get_all("Content-Length", [])
        if "Transfer-Encoding" in self.headers or len(stated) != 1 or not stated[0].isdecimal() or len(stated[0]) > 12:
            raise Refused(HTTPStatus.LENGTH_REQUIRED, "The request does not say how long it is.")
        length, largest = int(stated[0]), self.server.limits.body
        if length > largest:
            raise Refused(
                HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
                "The file is larger than {most} kB, the most that is taken here. Use the command verify.",
                most=str(largest // 1024),
            )
        end, parts, left = time.monotonic() + self.server.limits.seconds, [], length
        while left:
            part = self.rfile.read1(min(left, _CHUNK)) if time.monotonic() < end else b""
            if not part:
                raise Refused(HTTPStatus.REQUEST_TIMEOUT, "The file did not come whole, or not in time.")
            parts.append(part)
            left -= len(part)
        return b"".join(parts)

    def _send(self, status: HTTPStatus, page: str, more: dict[str, str] | None = None) -> None:
        self._give(status, {**HEADERS, **(more or {})}, page.encode("utf-8"))

    def _give(self, status: HTTPStatus, headers: dict[str, str], body: bytes) -> None:
        length = {} if status == HTTPStatus.NOT_MODIFIED else {"Content-Length": str(len(body))}
        self.send_response(status, interface.phrase(status))
        for name, value in {**headers, **length, "Connection": "close"}.items():
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)


def _name_of(host: str) -> str:
    """The machine a host with or without a port names; names have no case (RFC 9110, 4.2.3). Empty where it is none."""
    found = _HOST.fullmatch(host)
    return (found[1] or found[2] or "").lower() if found else ""


def _no_request(status: HTTPStatus) -> Refused:
    return Refused(status, "This request is not one that is answered here.")


def _to_a_system(one: Refused) -> Notice:
    """Why a request is refused, as the interface says it."""
    what, remedy = refusal(one.what, "en", **one.places), "Ask with GET, one Host, and headers of usual size."
    notice: Notice = Problem("interface.request", "request", what, remedy)
    if one.status in {HTTPStatus.FORBIDDEN, HTTPStatus.MISDIRECTED_REQUEST}:
        notice = Refusal("interface.visitor", "Host, Origin", what, "Ask under the address it listens on.")
    return notice
