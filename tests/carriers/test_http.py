"""Deliveries to a real HTTP server on loopback."""

from __future__ import annotations

import contextlib
import hashlib
import socket
import threading
import time
from base64 import b64decode
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, ClassVar

import pytest

from benchseal.carriers.carrier import Patience
from benchseal.carriers.http import HttpCarrier, HttpPlace
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from collections.abc import Iterator

FILES = {"p_1.csv": b"a;b\r\n" * 9000, "p_1.manifest.json": b'{"a":1}', "p_1.done": b""}
HASTY = Patience(())


@dataclass
class Shelf:
    """What the server holds, and how it is to misbehave: answers given before the true one, in order."""

    held: dict[str, bytes] = field(default_factory=dict)
    keys: list[str] = field(default_factory=list)
    answers: list[int] = field(default_factory=list)
    loses_answers: int = 0


class Handler(BaseHTTPRequestHandler):
    shelf: ClassVar[Shelf]

    def do_PUT(self) -> None:
        shelf = self.shelf
        data = self.rfile.read(int(self.headers["Content-Length"]))
        if shelf.answers:
            self._say(shelf.answers.pop(0))
            return
        if self.headers["Authorization"] != "Bearer right secret":
            self._say(401)
            return
        stated = self.headers["Content-Digest"].removeprefix("sha-256=:").removesuffix(":")
        assert b64decode(stated) == hashlib.sha256(data).digest()
        assert self.headers["If-None-Match"] == "*"
        shelf.keys.append(self.headers["Idempotency-Key"])
        if self.path in shelf.held:
            self._say(412)
            return
        shelf.held[self.path] = data
        if shelf.loses_answers:
            shelf.loses_answers -= 1
            self.connection.close()
            return
        self._say(201)

    def do_GET(self) -> None:
        data = self.shelf.held.get(self.path)
        self._say(200 if data is not None else 404, data or b"")

    def do_OPTIONS(self) -> None:
        self._say(self.shelf.answers.pop(0) if self.shelf.answers else 204)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002
        """Say nothing."""

    def _say(self, status: int, body: bytes = b"") -> None:
        self.send_response(status)
        if status == 302:
            self.send_header("Location", "/elsewhere")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)


@pytest.fixture
def shelf() -> Shelf:
    Handler.shelf = Shelf()
    return Handler.shelf


@pytest.fixture
def place(shelf: Shelf) -> Iterator[HttpPlace]:  # noqa: ARG001  the server's shelf is there first
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield HttpPlace(f"http://127.0.0.1:{server.server_address[1]}/in/", "right secret")
    server.shutdown()
    server.server_close()
    thread.join(20)


def held(shelf: Shelf) -> dict[str, bytes]:
    return {path.removeprefix("/in/"): data for path, data in shelf.held.items()}


def stopped(place: HttpPlace) -> str:
    with pytest.raises(Stopped) as found:
        HttpCarrier(place, HASTY).carry("D-00001", FILES)
    (notice,) = found.value.notices
    assert place.secret not in str(notice)
    return notice.code


def test_files_arrive_in_order_and_a_repeat_is_one_delivery(place: HttpPlace, shelf: Shelf) -> None:
    assert HttpCarrier(place, HASTY).carry("D-00001", FILES).placed == tuple(FILES)
    assert list(held(shelf).items()) == list(FILES.items())
    again = HttpCarrier(place, HASTY).carry("D-00001", FILES)
    assert (again.placed, again.already) == ((), tuple(FILES))
    assert shelf.keys == [f'"D-00001/{name}"' for name in FILES] * 2


def test_an_answer_that_was_lost_is_found_again(place: HttpPlace, shelf: Shelf) -> None:
    shelf.loses_answers = 1
    done = HttpCarrier(place, Patience((0.0,))).carry("D-00001", FILES)
    assert held(shelf) == FILES
    assert done.already == ("p_1.csv",)


def test_another_file_of_the_name_is_never_replaced(place: HttpPlace, shelf: Shelf) -> None:
    shelf.held["/in/p_1.manifest.json"] = b"foreign"
    assert stopped(place) == "delivery.name-taken"
    assert held(shelf)["p_1.manifest.json"] == b"foreign"
    assert "p_1.done" not in held(shelf)


@pytest.mark.parametrize(
    ("answers", "code"),
    [
        ([401], "delivery.not-permitted"), ([403], "delivery.not-permitted"), ([404], "delivery.refused-there"),
        ([302], "delivery.refused-there"), ([413], "delivery.refused-there"), ([429], "delivery.unreachable"),
        ([503], "delivery.unreachable"), ([507], "delivery.disk-full"), ([301], "delivery.refused-there"),
    ],
)  # fmt: skip
def test_answers_say_who_has_to_act(place: HttpPlace, shelf: Shelf, answers: list[int], code: str) -> None:
    shelf.answers = [*answers]
    assert stopped(place) == code
    assert held(shelf) == {}


def test_a_server_that_is_busy_is_asked_again(place: HttpPlace, shelf: Shelf) -> None:
    shelf.answers = [503, 429]
    slept: list[float] = []
    carrier = HttpCarrier(place, Patience((1.0, 2.0), slept.append, lambda: 0.5))
    assert carrier.carry("D-00001", FILES).placed == tuple(FILES)
    assert slept == [1.0, 2.0]


def test_no_server_and_a_wrong_secret(place: HttpPlace) -> None:
    assert stopped(HttpPlace("http://127.0.0.1:1/in/", "x y z")) == "delivery.unreachable"
    assert stopped(HttpPlace(place.url, "wrong secret")) == "delivery.not-permitted"


def test_a_probe_leaves_nothing(place: HttpPlace, shelf: Shelf) -> None:
    assert "answers 204" in HttpCarrier(place, HASTY).probe()
    for status, code in ((403, "delivery.not-permitted"), (503, "delivery.unreachable")):
        shelf.answers = [status]
        with pytest.raises(Stopped) as found:
            HttpCarrier(place, HASTY).probe()
        assert found.value.notices[0].code == code
    assert held(shelf) == {}
    assert place.secret not in repr(HttpCarrier(place)) + place.words


@contextmanager
def talking(*parts: bytes, pause_s: float = 0.0) -> Iterator[HttpPlace]:
    """A server that sends these parts, with pauses, whatever it is asked; then it is silent until the end."""
    ended = threading.Event()
    listening = socket.create_server(("127.0.0.1", 0))

    def serve() -> None:
        while not ended.is_set():
            try:
                one, _ = listening.accept()
            except OSError:
                return
            with one, contextlib.suppress(OSError):
                for part in parts:
                    one.sendall(part)
                    if ended.wait(pause_s):
                        return
                ended.wait(5)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    yield HttpPlace(f"http://127.0.0.1:{listening.getsockname()[1]}/in/", "right secret")
    ended.set()
    listening.shutdown(socket.SHUT_RDWR)
    listening.close()
    thread.join(20)


def said_of(place: HttpPlace, **limits: float) -> tuple[str, float]:
    """What is said of a server, and after how many seconds."""
    begun = time.monotonic()
    with pytest.raises(Stopped) as found:
        HttpCarrier(place, HASTY, **limits).carry("D-00001", {"p_1.csv": b"a"})  # type: ignore[arg-type]  # numbers
    (notice,) = found.value.notices
    assert notice.code == "delivery.unreachable"
    return notice.what, time.monotonic() - begun


def test_a_server_that_never_answers_is_left() -> None:
    with talking() as place:
        what, after_s = said_of(place, answer_s=0.2)
    assert "timed out" in what
    assert after_s < 3


@pytest.mark.parametrize("first", [b"", b"HTTP/1.1 201 Created\r\nX: "], ids=["first line", "head"])
def test_a_server_that_drips_is_left(first: bytes) -> None:
    with talking(first, *[b"H"] * 500, pause_s=0.05) as place:
        what, after_s = said_of(place, answer_s=2, whole_s=0.4)
    assert "did not answer whole within 0 seconds" in what
    assert after_s < 3


@pytest.mark.parametrize("sent", [b"<!DOCTYPE HTML>\r\n\r\n", b"\x00\xff\r\n\r\n", b"SSH-2.0-x\r\n"])
def test_what_another_server_sent_is_not_said_again(sent: bytes) -> None:
    with talking(sent) as place:
        assert said_of(place)[0] == "the answer is no HTTP."
