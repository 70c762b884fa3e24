"""The verification page as a browser meets it, and as somebody meets it who wishes it ill. All on the loopback."""

from __future__ import annotations

import ast
import http.client
import re
import socket
import subprocess
import sys
import threading
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.attacks.forged_outside import isa_full, strangers_seal
from tests.attacks.forging import Forger, forger_of

from benchseal.desk.founding import trust_of
from benchseal.desk.site import open_site
from benchseal.verify.german import german_check
from benchseal.verify.judge import judge
from benchseal.verify.trust import Trust, read_trust
from benchseal.web import server as server_module
from benchseal.web.form import file_of
from benchseal.web.server import Limits, VerificationServer
from benchseal.web.words import REFUSALS_DE, TEXTS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.demo.play import Played

SMALL = Limits(body=1024 * 1024, seconds=20.0)
HURRIED = Limits(body=1024 * 1024, seconds=0.3)


@pytest.fixture(scope="module")
def forger(played: Played) -> Forger:
    site = open_site(played.site.folder)
    trust = read_trust(trust_of(site))
    assert isinstance(trust, Trust)
    made = forger_of(site, trust, played.certificates)
    site.store.close()
    return made


def running(trust: Trust | None, limits: Limits) -> Iterator[VerificationServer]:
    with VerificationServer("127.0.0.1", 0, trust, limits=limits) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        yield server
        server.shutdown()
        thread.join()


@pytest.fixture(scope="module")
def page(forger: Forger) -> Iterator[VerificationServer]:
    yield from running(forger.trust, SMALL)


@pytest.fixture
def hurried(forger: Forger) -> Iterator[VerificationServer]:
    yield from running(forger.trust, HURRIED)


class Answer:
    """Status, headers and text of one answer."""

    def __init__(self, got: http.client.HTTPResponse) -> None:
        self.status, self.headers, self.text = got.status, got.headers, got.read().decode("utf-8")

    @property
    def words(self) -> str:
        return " ".join(unescape(re.sub(r"<style>.*?</style>|<[^>]*>", " ", self.text, flags=re.DOTALL)).split())


def ask(
    server: VerificationServer, method: str, path: str, body: bytes | None = None, headers: dict[str, str] | None = None
) -> Answer:
    line = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=60)
    try:
        line.request(method, path, body, headers or {})
        return Answer(line.getresponse())
    finally:
        line.close()


def drop(server: VerificationServer, pdf: bytes, name: str = "C-2026-00001.pdf", **headers: str) -> Answer:
    mark = "----formboundary7MA4YWxk"
    head = f'--{mark}\r\nContent-Disposition: form-data; name="certificate"; filename="{name}"\r\n\r\n'
    body = head.encode() + pdf + f"\r\n--{mark}--\r\n".encode()
    return ask(
        server,
        "POST",
        "/verify",
        body,
        {
            "Content-Type": f"multipart/form-data; boundary={mark}",
            **{k.replace("_", "-"): v for k, v in headers.items()},
        },
    )


def raw(server: VerificationServer, data: bytes) -> bytes:
    """What comes back for these very bytes, to the end of the connection."""
    with socket.create_connection(("127.0.0.1", server.server_port), timeout=60) as line:
        line.sendall(data)
        parts = []
        try:
            while part := line.recv(65536):
                parts.append(part)
        except ConnectionError:
            pass
    return b"".join(parts)


# ------------------------------------------------------------------ what it is for


@pytest.mark.clause("P11 11.30")
def test_a_genuine_file_is_said_to_be_in_the_words_of_the_command(page: VerificationServer, forger: Forger) -> None:
    answer = drop(page, forger.one.pdf)
    one = judge(forger.one.pdf, forger.trust)
    assert answer.status == 200
    assert "GENUINE" in answer.words
    for sentence in (one.report.means, *(f"{each.name}: {each.said}" for each in one.report.checks)):
        assert " ".join(sentence.split()) in answer.words


@pytest.mark.refuses("P11 11.30")
def test_a_forged_and_a_strangers_file(page: VerificationServer, forger: Forger) -> None:
    assert "ALTERED it contradicts itself" in drop(page, isa_full(forger)).words
    assert "UNKNOWN nothing was found to be false" in drop(page, strangers_seal(forger)).words
    assert "UNKNOWN" in drop(page, b"no PDF").words


def test_the_form_says_whose_keys_are_trusted(page: VerificationServer, forger: Forger) -> None:
    answer = ask(page, "GET", "/")
    assert answer.status == 200
    assert forger.trust.laboratory in answer.words
    assert forger.trust.seals[0].fingerprint in answer.words
    assert 'enctype="multipart/form-data"' in answer.text


def test_without_a_trust_file_nothing_is_genuine(forger: Forger) -> None:
    for server in running(None, SMALL):
        assert "UNKNOWN" in ask(server, "GET", "/").words
        answer = drop(server, forger.one.pdf)
        assert "UNKNOWN nothing was found" in answer.words
        assert forger.one.evidence.certificate.number not in answer.words


def test_several_at_once(page: VerificationServer, forger: Forger) -> None:
    files = [forger.one.pdf, isa_full(forger), forger.other.pdf, b"x"]
    found: dict[int, str] = {}

    def one(number: int) -> None:
        found[number] = drop(page, files[number]).words

    threads = [threading.Thread(target=one, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    words = [re.findall("GENUINE|ALTERED|UNKNOWN", found[at])[0] for at in range(4)]
    assert words == ["GENUINE", "ALTERED", "GENUINE", "UNKNOWN"]


# ------------------------------------------------------------------ in German


@pytest.mark.parametrize(
    ("path", "accepted", "due"),
    [
        ("/", "", "en"),
        ("/", "de-AT,de;q=0.9,en;q=0.5", "de"),
        ("/", "fr, en;q=0.4, de;q=0.8", "de"),
        ("/", "de;q=0, en", "en"),
        ("/", "de;q=x, fr", "en"),
        ("/", "en-GB, de", "en"),
        ("/?language=de", "en", "de"),
        ("/?language=en", "de", "en"),
    ],
)
def test_the_language_is_the_one_chosen_else_the_browsers(
    page: VerificationServer, path: str, accepted: str, due: str
) -> None:
    answer = ask(page, "GET", path, headers={"Accept-Language": accepted})
    assert answer.status == 200
    assert f'<html lang="{due}">' in answer.text
    assert f'action="/verify?language={due}"' in answer.text
    assert answer.headers["Vary"] == "Accept-Language"
    assert {"en": "Drop the PDF file", "de": "Die PDF-Datei"}[due] in answer.words


def test_a_file_is_explained_in_german(page: VerificationServer, forger: Forger) -> None:
    """As ``verify --language de`` explains it; the first word is the same in every language."""
    answer = drop(page, forger.one.pdf, Accept_Language="de")
    one = judge(forger.one.pdf, forger.trust)
    assert "GENUINE (echt) mit einem Schlüssel gesiegelt" in answer.words
    for check in one.report.checks:
        assert " ".join(german_check(check).split()) in answer.words, check.name
    assert "sealed by" not in answer.words
    assert "What was checked" not in answer.words
    assert "ALTERED (verändert)" in drop(page, isa_full(forger), Accept_Language="de").words


def test_a_refusal_is_in_german_too(page: VerificationServer) -> None:
    for path, said in (("/nothing", "Hier ist nichts."), ("/verify", "Diese Adresse nimmt POST.")):
        answer = ask(page, "GET", path, headers={"Accept-Language": "de"})
        assert answer.status in {404, 405}
        assert f"Nicht geprüft {said}" in answer.words
    assert ask(page, "GET", "/verify").headers["Allow"] == "POST"


def test_every_refusal_has_a_german_one() -> None:
    room = Path(server_module.__file__).parent
    said = set()
    for name in ("server.py", "form.py"):
        text = (room / name).read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)):
            of = getattr(getattr(node, "func", None), "id", "") if isinstance(node, ast.Call) else ""
            if isinstance(node, ast.Return) or of == "Refused":
                parts = [node.value] if isinstance(node, ast.Return) else getattr(node, "args", [])
                for part in (one for top in parts if top is not None for one in ast.walk(top)):
                    if isinstance(part, ast.Constant) and isinstance(part.value, str) and part.value.endswith("."):
                        said.add(part.value)
    said = {one for one in said if " " in one}
    assert len(said) > 10, "the sentences were not found"
    assert said - {"."} == REFUSALS_DE.keys() - {"The form has no field certificate."}
    assert file_of("multipart/form-data; boundary=x", b"--x\r\nA: b\r\n\r\nc\r\n--x--") in REFUSALS_DE


def test_the_page_has_the_same_texts_in_each_language() -> None:
    assert TEXTS["de"].keys() == TEXTS["en"].keys()
    for name, text in TEXTS["en"].items():
        assert re.findall(r"\{[a-z]+\}", text) == re.findall(r"\{[a-z]+\}", TEXTS["de"][name])
        assert text != TEXTS["de"][name]


# ------------------------------------------------------------------ strict headers, nothing from elsewhere


def test_every_answer_has_the_strict_headers(page: VerificationServer, forger: Forger) -> None:
    answers = [ask(page, "GET", "/"), drop(page, forger.one.pdf), ask(page, "GET", "/nothing"), ask(page, "PUT", "/")]
    for answer in answers:
        policy = answer.headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'; style-src 'sha256-")
        assert "script" not in policy
        assert "unsafe" not in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cache-Control"] == "no-store"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["X-Frame-Options"] == "DENY"
        assert "Python" not in answer.headers["Server"]
        assert "Set-Cookie" not in answer.headers
        assert not re.search(r"<script|<img|<link|<iframe|https?://|javascript:| on\w+=", answer.text, re.IGNORECASE)


def test_names_and_texts_are_escaped(page: VerificationServer) -> None:
    answer = drop(page, b"%PDF-<script>alert(1)</script>", name="<script>alert(1)</script>.pdf")
    assert "<script" not in answer.text
    again = ask(page, "GET", "/%3Cscript%3E<script>")
    assert again.status == 404
    assert "script" not in again.text


# ------------------------------------------------------------------ those who wish it ill


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd", "/..%2f..%2fetc%2fpasswd", "//etc/passwd", "/verify/", "/verify?x=1", "/verify/../", "/.",
        "*", "/?language=fr", "/?", "/?language=de&x=1",
        "http://127.0.0.1/x", "/trust.json", "/private/unlock", "/%00", "/\\..\\..\\",
    ],
)  # fmt: skip
def test_paths_that_are_not_there(page: VerificationServer, path: str) -> None:
    answer = ask(page, "GET", path)
    assert answer.status in {400, 404}
    assert "passphrase" not in answer.text
    assert "root:" not in answer.text


def test_the_page_is_there_under_its_whole_address(page: VerificationServer) -> None:
    """RFC 9112, 3.2.2."""
    assert ask(page, "GET", "http://127.0.0.1/?language=de").status == 200
    assert ask(page, "GET", "http://evil.example/").status == 421


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH", "CONNECT", "PROPFIND", "get"])
def test_other_methods(page: VerificationServer, method: str) -> None:
    assert ask(page, method, "/").status in {400, 405}


def test_each_address_takes_its_own_method(page: VerificationServer) -> None:
    got, put = ask(page, "GET", "/verify"), ask(page, "POST", "/", b"x")
    assert (got.status, got.headers["Allow"]) == (405, "POST")
    assert (put.status, put.headers["Allow"]) == (405, "GET, HEAD")
    head = ask(page, "HEAD", "/")
    assert (head.status, head.text) == (200, "")


def test_a_huge_body_is_refused_unread(page: VerificationServer) -> None:
    started = b"POST /verify HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99999999999\r\n\r\n"
    assert raw(page, started).split(b"\r\n")[0].endswith(b" 413 Content Too Large")  # RFC 9110, 15.5.14
    answer = drop(page, bytes(SMALL.body + 1))
    assert answer.status == 413
    assert "more" in answer.words or "most" in answer.words


@pytest.mark.parametrize(
    "lines",
    [
        pytest.param(b"", id="none"),
        pytest.param(b"Content-Length: -1\r\n", id="negative"),
        pytest.param(b"Content-Length: 1e3\r\n", id="no number"),
        pytest.param(b"Content-Length: 5\r\nContent-Length: 6\r\n", id="two lengths"),
        pytest.param(b"Content-Length: 9999999999999999999999\r\n", id="a very long number"),
        pytest.param("Content-Length: \u0665\r\n".encode(), id="other figures"),
        pytest.param(b"Transfer-Encoding: chunked\r\n", id="chunked"),
        pytest.param(b"Transfer-Encoding: chunked\r\nContent-Length: 5\r\n", id="chunked with a length"),
    ],
)
def test_lengths_that_are_none(page: VerificationServer, lines: bytes) -> None:
    answer = raw(page, b"POST /verify HTTP/1.1\r\nHost: localhost\r\n" + lines + b"\r\nhello")
    assert b" 411 " in answer.split(b"\r\n")[0]


def test_a_form_that_is_none(page: VerificationServer) -> None:
    answer = ask(page, "POST", "/verify", b"abc", {"Content-Type": "text/plain"})
    assert answer.status == 400
    assert "Not checked" in answer.words


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"\r\n\r\n", id="nothing"),
        pytest.param(b"GET\r\n\r\n", id="one word"),
        pytest.param(b"GET / HTTP/9.9\r\n\r\n", id="another version"),
        pytest.param(b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n", id="TLS"),
        pytest.param(b"GET /" + b"a" * 70_000 + b" HTTP/1.1\r\n\r\n", id="a long line"),
        pytest.param(b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 200 + b"\r\n", id="many headers"),
        pytest.param(b"GET / HTTP/1.1\r\nX: " + b"y" * 70_000 + b"\r\n\r\n", id="a long header"),
        pytest.param(bytes(range(256)) * 9, id="any bytes"),
    ],
)
def test_what_is_no_request(page: VerificationServer, data: bytes) -> None:
    answer = raw(page, data)
    assert b" 200 " not in answer.split(b"\r\n")[0]
    assert b"Traceback" not in answer
    assert ask(page, "GET", "/").status == 200  # it goes on


def test_another_name_of_this_machine(page: VerificationServer) -> None:
    """A page elsewhere that makes its own name lead here (DNS rebinding) gets nothing."""
    assert ask(page, "GET", "/", headers={"Host": "evil.example"}).status == 421
    assert raw(page, b"GET / HTTP/1.0\r\n\r\n").split(b"\r\n")[0].endswith(b"421 Misdirected Request")


def test_a_form_of_another_site(page: VerificationServer, forger: Forger) -> None:
    own = f"127.0.0.1:{page.server_port}"
    assert drop(page, forger.one.pdf, Origin="https://evil.example").status == 403
    assert drop(page, forger.one.pdf, Origin="null").status == 403
    assert drop(page, forger.one.pdf, Origin=f"http://{own}").status == 200


@pytest.mark.parametrize(
    "begun",
    [
        pytest.param(b"", id="says nothing"),
        pytest.param(b"GET / HT", id="half a line"),
        pytest.param(b"GET / HTTP/1.1\r\nHost: localhost\r\n", id="half the headers"),
        pytest.param(b"POST /verify HTTP/1.1\r\nHost: localhost\r\nContent-Length: 999\r\n\r\nabc", id="half a body"),
    ],
)
def test_a_slow_visitor_is_cut_off(hurried: VerificationServer, begun: bytes) -> None:
    assert b" 200 " not in raw(hurried, begun)
    assert ask(hurried, "GET", "/").status == 200


def test_more_than_there_are_places_for(forger: Forger) -> None:
    for server in running(forger.trust, Limits(at_once=2)):
        waiting = [socket.create_connection(("127.0.0.1", server.server_port), timeout=60) for _ in range(2)]
        assert raw(server, b"").startswith(b"HTTP/1.0 503 ")
        for line in waiting:
            line.close()


def test_a_file_made_to_take_long(page: VerificationServer) -> None:
    """Nothing is unpacked or parsed of a file whose seal does not hold under a trusted key."""
    blanks = b"%PDF-1.7\n" + (b"/ByteRange" + b" " * 1000) * 900
    digits = b"%PDF-1.7\n/ByteRange [0 30 1000030 0]" + b"<" + b"30" * 499_000 + b">"
    for data in (blanks, digits, b"%PDF-1.7\n" + b"/ByteRange [0 0 0 0]" * 40_000):
        answer = drop(page, data)
        assert answer.status == 200
        assert "GENUINE" not in answer.words


# ------------------------------------------------------------------ the command


def test_the_command_serves_and_stores_nothing(played: Played, tmp_path: Path) -> None:
    command = [
        sys.executable,
        "-m",
        "benchseal",
        "serve",
        "--port",
        "0",
        "--trust",
        str(played.site.folder / "trust.json"),
    ]
    with subprocess.Popen(command, cwd=tmp_path, stdout=-1, stderr=-1, text=True) as program:  # noqa: S603
        try:
            assert program.stdout is not None
            said = program.stdout.readline()
            port = int(re.findall(r"http://127\.0\.0\.1:(\d+)/ checks certificates", said)[0])
            line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
            line.request("GET", "/")
            assert line.getresponse().status == 200
            line.close()
        finally:
            program.send_signal(2)
            out, err = program.communicate(timeout=60)
    assert (program.returncode, out, err) == (0, "", "")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        pytest.param(("--port", "99999"), 4, "between 0 and 65535", id="a port that is none"),
        pytest.param(("--host", "203.0.113.9", "--port", "0"), 75, "cannot listen", id="an address of another machine"),
        pytest.param(("--trust", "nothing.json"), 4, "nothing.json", id="no trust file"),
    ],
)
def test_what_keeps_it_from_serving(
    words: tuple[str, ...], code: int, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from benchseal.cli import main  # noqa: PLC0415

    assert main(["serve", *words, "--site", str(tmp_path)]) == code
    assert said in capsys.readouterr().err
