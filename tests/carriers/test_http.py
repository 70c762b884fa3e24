"""Deliveries to a real HTTP server on loopback."""

from __future__ import annotations

import contextlib
import hashlib
import socket
import threading
import time
from base64 import b64decode, b64encode
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, ClassVar

import pytest

from benchseal.carriers.carrier import Patience
from benchseal.carriers.http import HttpCarrier, HttpPlace
from benchseal.problems import Stopped, exit_code

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

FILES = {"p_1.csv": b"a;b\r\n" * 9000, "p_1.manifest.json": b'{"a":1}', "p_1.done": b""}
HASTY = Patience(())


@dataclass
class Shelf:
    """What the server holds, and how it is to misbehave: answers given before the true one, in order.

    reads: answers to reading, before the true one; a text for one that breaks off, by how its end is known. keeps: what
    becomes of what was put; None for nothing. status, head, body: of the answer to what was put. early: what is sent
    before that answer.
    """

    held: dict[str, bytes] = field(default_factory=dict)
    keys: list[str] = field(default_factory=list)
    answers: list[int] = field(default_factory=list)
    loses_answers: int = 0
    reads: list[int | str] = field(default_factory=list)
    keeps: Callable[[bytes], bytes | None] = lambda data: data
    status: int = 201
    head: dict[str, str] = field(default_factory=dict)
    body: bytes = b""
    early: bytes = b""


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
        kept = shelf.keeps(data)
        if kept is not None:
            shelf.held[self.path] = kept
        if shelf.loses_answers:
            shelf.loses_answers -= 1
            self.connection.close()
            return
        self.wfile.write(shelf.early)
        self._say(shelf.status, shelf.body, shelf.head)

    def do_GET(self) -> None:
        if self.shelf.reads:
            answer = self.shelf.reads.pop(0)
            if isinstance(answer, str):
                self._cut(answer)
            else:
                self._say(answer)
            return
        data = self.shelf.held.get(self.path)
        self._say(200 if data is not None else 404, data or b"")

    def _cut(self, how: str) -> None:
        data = self.shelf.held[self.path]
        head = {"length": f"Content-Length: {len(data)}", "chunks": "Transfer-Encoding: chunked", "end": "X: y"}[how]
        begun = f"{len(data):x}\r\n" if how == "chunks" else ""
        kind = "1.1" if how == "chunks" else "1.0"
        self.wfile.write(f"HTTP/{kind} 200 OK\r\n{head}\r\n\r\n{begun}".encode() + data[: len(data) // 2])
        self.close_connection = True

    def do_OPTIONS(self) -> None:
        self._say(self.shelf.answers.pop(0) if self.shelf.answers else 204)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002
        """Say nothing."""

    def _say(self, status: int, body: bytes = b"", head: dict[str, str] | None = None) -> None:
        self.send_response(status)
        for name, value in (head or {}).items():
            self.send_header(name, value)
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


def sum_of(data: bytes, kind: str = "sha256") -> str:
    return b64encode(hashlib.new(kind, data).digest()).decode()


def half(data: bytes) -> bytes:
    return data[: len(data) // 2]


def nothing(_: bytes) -> None:
    return None


@pytest.mark.parametrize("status", [200, 201, 204])
@pytest.mark.parametrize(
    ("keeps", "words"),
    [(half, "differs from what was sent"), (lambda data: data + b"x", "differs"), (nothing, "answers 404")],
    ids=["half", "more", "nothing"],
)
def test_what_the_server_keeps_is_read_again(
    place: HttpPlace, shelf: Shelf, status: int, keeps: Callable[[bytes], bytes | None], words: str
) -> None:
    shelf.status, shelf.keeps = status, keeps
    with pytest.raises(Stopped) as found:
        HttpCarrier(place, HASTY).carry("D-00001", FILES)
    (notice,) = found.value.notices
    assert (notice.code, exit_code(found.value.notices)) == ("delivery.not-kept", 10)
    assert words in notice.what
    assert "/in/p_1.manifest.json" not in shelf.held


@pytest.mark.parametrize("status", [203, 205, 206, 207, 226])
def test_other_words_of_success_are_none(place: HttpPlace, shelf: Shelf, status: int) -> None:
    shelf.status = status
    for one in (place, replace(place, read_back=False)):
        shelf.held.clear()
        assert stopped(one) == "delivery.refused-there"


def test_what_is_taken_to_be_kept_later_counts_once_it_can_be_read(place: HttpPlace, shelf: Shelf) -> None:
    shelf.status, shelf.keeps = 202, nothing
    assert stopped(place) == "delivery.unreachable"
    shelf.keeps = half
    assert stopped(place) == "delivery.unreachable"
    shelf.held.clear()
    shelf.keeps = lambda data: data
    assert stopped(replace(place, read_back=False)) == "delivery.refused-there"
    shelf.held.clear()
    assert HttpCarrier(place, HASTY).carry("D-00001", FILES).placed == tuple(FILES)


@pytest.mark.parametrize("name", ["Content-Digest", "Repr-Digest"])
@pytest.mark.parametrize("read_back", [True, False])
def test_a_digest_of_other_bytes_is_heard(place: HttpPlace, shelf: Shelf, name: str, read_back: bool) -> None:
    one = replace(place, read_back=read_back)
    for wrong in (f"sha-256=:{'A' * 43}=:", f"sha-512=:{sum_of(b'x', 'sha512')}:", "sha-256=x", f"sha-256=:{'A' * 9}:"):
        shelf.head = {name: wrong}
        assert stopped(one) == "delivery.not-kept", wrong
        shelf.held.clear()
    shelf.body = b"kept"
    for right in (
        f"sha-256=:{sum_of(b'kept')}:",
        f"md5=:AAAA:, sha-512=:{sum_of(b'kept', 'sha512')}:",
        f"sha-256=:{sum_of(FILES['p_1.csv'])}:",
    ):
        shelf.head = {name: right}
        files = {"p_1.csv": FILES["p_1.csv"]}
        assert HttpCarrier(one, HASTY).carry("D-00001", files).placed == ("p_1.csv",)
        shelf.held.clear()


@pytest.mark.parametrize("status", [401, 403, 404, 405, 501])
def test_a_server_that_lets_nothing_be_read_is_taken_by_its_word_only_where_the_profile_says_so(
    place: HttpPlace, shelf: Shelf, status: int
) -> None:
    shelf.reads = [status]
    with pytest.raises(Stopped) as found:
        HttpCarrier(place, HASTY).carry("D-00001", FILES)
    assert exit_code(found.value.notices) == 10
    assert "read_back: false" in found.value.notices[0].what
    shelf.held.clear()
    shelf.reads = [status] * 9
    assert HttpCarrier(replace(place, read_back=False), HASTY).carry("D-00001", FILES).placed == tuple(FILES)
    assert len(shelf.reads) == 9


def test_a_server_that_is_busy_when_it_is_read_is_asked_again(place: HttpPlace, shelf: Shelf) -> None:
    shelf.reads = [503]
    done = HttpCarrier(place, Patience((0.0,))).carry("D-00001", FILES)
    assert (done.already, held(shelf)) == (("p_1.csv",), FILES)


@pytest.mark.parametrize("status", [502, 503, 429, "length", "chunks", "end"])
def test_a_lost_answer_and_a_look_that_fails_after_it_is_another_try(
    place: HttpPlace, shelf: Shelf, status: int | str
) -> None:
    shelf.held["/in/p_1.csv"] = FILES["p_1.csv"]
    shelf.reads = [status]
    assert stopped(place) == "delivery.unreachable"
    assert HttpCarrier(place, HASTY).carry("D-00001", FILES).already == ("p_1.csv",)


@pytest.mark.parametrize("how", ["length", "chunks", "end"])
def test_a_file_that_is_cut_off_while_it_is_read_back_is_another_try(place: HttpPlace, shelf: Shelf, how: str) -> None:
    shelf.reads = [how]
    assert stopped(place) == "delivery.unreachable"
    assert HttpCarrier(place, HASTY).carry("D-00001", FILES).already == ("p_1.csv",)


MORE_STATED = {
    "a longer length": "Content-Length: {more}",
    "two lengths": "Content-Length: {length}\r\nContent-Length: {more}",
    "two lengths in one line": "Content-Length: {length}, {more}",
    "no length": "Content-Length: all",
    "no last chunk": "Transfer-Encoding: chunked",
}


@pytest.mark.parametrize("name", MORE_STATED)
@pytest.mark.parametrize("before", ["201", "202", "409", "412"])
def test_an_answer_that_ends_before_what_it_states_shows_no_file(name: str, before: str) -> None:
    """RFC 9112, 8: such an answer is incomplete, though it holds every byte of the file; 6.3: so are two lengths."""
    data = FILES["p_1.csv"]
    put = f"HTTP/1.1 {before} X\r\nContent-Length: 0\r\nConnection: close\r\n\r\n".encode()
    head = MORE_STATED[name].format(length=len(data), more=len(data) + 10)
    body = f"{len(data):x}\r\n".encode() + data + b"\r\n" if "chunked" in head else data
    get = f"HTTP/1.1 200 OK\r\n{head}\r\nConnection: close\r\n\r\n".encode() + body
    with answering(put, get) as place, pytest.raises(Stopped) as found:
        HttpCarrier(place, HASTY).carry("D-00001", {"p_1.csv": data})
    assert [one.code for one in found.value.notices] == ["delivery.unreachable"]


def test_an_answer_without_a_length_ends_with_its_connection() -> None:
    """RFC 9112, 6.3: nothing is stated, so nothing is missing. One length said twice is one."""
    data = FILES["p_1.csv"]
    put = b"HTTP/1.1 201 X\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
    for head in ("X: y", f"Content-Length: {len(data)}", f"Content-Length: {len(data)}, {len(data)}"):
        get = f"HTTP/1.1 200 OK\r\n{head}\r\nConnection: close\r\n\r\n".encode() + data
        with answering(put, get) as place:
            assert HttpCarrier(place, HASTY).carry("D-00001", {"p_1.csv": data}).placed == ("p_1.csv",)


def test_a_taken_name_that_cannot_be_read_is_said_so(place: HttpPlace, shelf: Shelf) -> None:
    shelf.held["/in/p_1.csv"] = FILES["p_1.csv"]
    shelf.reads = [405]
    with pytest.raises(Stopped) as found:
        HttpCarrier(replace(place, read_back=False), HASTY).carry("D-00001", FILES)
    (notice,) = found.value.notices
    assert (notice.code, "answers 405 when it is read" in notice.what) == ("delivery.name-taken", True)
    assert "Ask the receiver" in notice.remedy


@pytest.mark.parametrize(("status", "code"), [(412, "delivery.unreachable"), (409, "delivery.refused-there")])
def test_a_taken_name_that_nothing_has(place: HttpPlace, shelf: Shelf, status: int, code: str) -> None:
    shelf.answers = [status]
    assert stopped(place) == code


@pytest.mark.parametrize(
    "early",
    [
        b"HTTP/1.1 103 Early Hints\r\nLink: </a>\r\n\r\n",
        b"HTTP/1.1 100 Continue\r\n\r\n",
        b"HTTP/1.1 102 P\r\n\r\n" * 3,
    ],
    ids=["103", "100", "102"],
)
def test_answers_before_the_answer_are_passed_over(place: HttpPlace, shelf: Shelf, early: bytes) -> None:
    shelf.early = early
    assert HttpCarrier(place, HASTY).carry("D-00001", FILES).placed == tuple(FILES)
    assert held(shelf) == FILES


@pytest.mark.parametrize("secret", ["right secret\n", "right\r\nX: y", "r\xf6cht", "\u20ac"])
def test_a_token_no_header_can_hold_is_said_without_it(place: HttpPlace, shelf: Shelf, secret: str) -> None:
    with pytest.raises(Stopped) as found:
        HttpCarrier(replace(place, secret=secret), HASTY).carry("D-00001", FILES)
    (notice,) = found.value.notices
    assert (notice.code, exit_code(found.value.notices)) == ("settings.secret-unfit", 3)
    assert secret not in str(notice)
    assert shelf.held == {}


def test_an_address_with_letters_of_any_alphabet(place: HttpPlace, shelf: Shelf) -> None:
    url = place.url.replace("/in/", "/pr\xfcfung/")
    assert HttpCarrier(replace(place, url=url), HASTY).carry("D-00001", FILES).placed == tuple(FILES)
    assert next(iter(shelf.held)) == "/pr%C3%BCfung/p_1.csv"
    assert stopped(HttpPlace(f"http://{'x' * 70}.invalid/in/", "right secret")) == "delivery.refused-there"


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


@contextmanager
def answering(*answers: bytes) -> Iterator[HttpPlace]:
    """A server that reads a request to its end, sends the next of these answers as it stands, and closes."""
    listening = socket.create_server(("127.0.0.1", 0))

    def serve() -> None:
        for answer in answers:
            try:
                one, _ = listening.accept()
            except OSError:
                return
            with one, one.makefile("rb") as asked:
                head = list(iter(asked.readline, b"\r\n"))
                lengths = [int(line[15:]) for line in head if line.lower().startswith(b"content-length:")]
                asked.read(sum(lengths))
                one.sendall(answer)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    yield HttpPlace(f"http://127.0.0.1:{listening.getsockname()[1]}/in/", "right secret")
    with contextlib.suppress(OSError):
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
