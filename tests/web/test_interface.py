"""The reading interface as a system meets it, and as somebody meets it who wishes it ill. All on the loopback."""

from __future__ import annotations

import hashlib
import http.client
import json
import shutil
import socket
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, cast

import pytest
import rfc8785
from jsonschema import Draft202012Validator
from tests.conftest import cheap_hashes
from tests.web.pulling import ADMINISTRATOR, ALL, Got, Pulled, key, number_of, pulled_from

from benchseal.desk import interface_reading
from benchseal.desk.acts_interface import RevokeToken
from benchseal.desk.clock import stamp
from benchseal.desk.interface_reading import certificate_of, page_of
from benchseal.desk.interface_tokens import KEY_FILE
from benchseal.desk.perform import perform
from benchseal.desk.read_log import log_lines
from benchseal.desk.site import open_site
from benchseal.problems import Stopped
from benchseal.records.interface import SCOPES, Caller
from benchseal.records.released import LATER_FIELDS, ROW_FIELDS
from benchseal.shipped import interface_description
from benchseal.web import interface
from benchseal.web.interface import ROUTES, Asked, answer, phrase

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.demo.play import Played
    from benchseal.desk.site import Site
    from benchseal.records.reads import NotedRead

DESCRIBED: dict[str, Any] = json.loads(interface_description())
EVERYBODY = Caller("SY-00000", "a test", frozenset(SCOPES), frozenset())


@pytest.fixture(scope="module")
def pulled(played: Played, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pulled]:
    with pulled_from(played, tmp_path_factory.mktemp("pulled") / "site") as made:
        yield made


@pytest.fixture
def own(played: Played, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pulled]:
    """One to change."""
    with pulled_from(played, tmp_path_factory.mktemp("own") / "site") as made:
        yield made


def at(site: Site, moment: datetime) -> Site:
    return replace(site, clock=lambda: moment)


def last_read(pulled: Pulled) -> NotedRead:
    with pulled.site.store.reading() as view:
        found = list(log_lines(view, pulled.site))[-1].read
    assert found is not None
    return found


def walked(pulled: Pulled, token: str, most: int) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    since = 0
    while True:
        page = pulled(f"/v1/results?since={since}&most={most}", token).json
        assert page["since"] == since
        rows += page["results"]
        if not page["more"]:
            return rows
        assert page["next"] > since
        since = page["next"]


# ------------------------------------------------------------------ what it is for


def test_pages_of_any_size_hold_every_released_revision_once_and_in_order(pulled: Pulled) -> None:
    with pulled.site.store.reading() as view:
        wanted = {(row["result_id"], int(row["revision"])) for row in view.rows("released")}
    whole = walked(pulled, "everything", 500)
    assert len(whole) == len(wanted)
    assert {(row["result_id"], int(row["revision"])) for row in whole} == wanted
    assert [row["entry"] for row in whole] == sorted(row["entry"] for row in whole)
    for most in (1, 2, 7):
        assert walked(pulled, "everything", most) == whole


def test_a_page_is_no_larger_than_asked_but_for_an_entry_that_is(pulled: Pulled) -> None:
    for most in (1, 4, 10):
        rows = pulled(f"/v1/results?most={most}").json["results"]
        assert len(rows) <= most or len({row["entry"] for row in rows}) == 1


def test_at_the_end_the_same_number_comes_back_with_nothing(pulled: Pulled) -> None:
    page = pulled("/v1/results?most=500").json
    again = pulled(f"/v1/results?since={page['next']}").json
    assert (again["results"], again["next"], again["more"]) == ([], page["next"], False)


def test_each_row_has_the_digest_its_other_fields_give(pulled: Pulled) -> None:
    """RFC 8785 by the library of that name, as docs/manual/exports.md says a receiver may check it."""
    for row in pulled("/v1/results?most=500").json["results"]:
        fields = {
            name: text
            for name, text in row.items()
            if name not in {"entry", "record_sha256"} and (name not in LATER_FIELDS or text)
        }
        assert hashlib.sha256(rfc8785.dumps(fields)).hexdigest() == row["record_sha256"]


def test_a_certificate_is_the_sealed_file_byte_for_byte(pulled: Pulled) -> None:
    number = number_of(pulled.site, "A-1")
    got = pulled(f"/v1/certificates/{number}.pdf")
    assert (got.status, got.headers["Content-Type"]) == (200, "application/pdf")
    assert got.body == (pulled.site.certificates / f"{number}.pdf").read_bytes()
    rows = [row for row in walked(pulled, "everything", 500) if row["certificate_no"] == number]
    assert {row["certificate_sha256"] for row in rows} == {hashlib.sha256(got.body).hexdigest()}


def test_health_and_description_ask_for_no_token(pulled: Pulled) -> None:
    assert pulled("/v1/health", "").json == {"status": "ok"}
    assert pulled("/v1/openapi.json", "").body.decode() == interface_description()


@pytest.mark.parametrize("target", ["/v1/results", "/v1/health", "/v1/openapi.json"])
def test_head_says_what_get_would_and_gives_no_body(pulled: Pulled, target: str) -> None:
    got, headers = pulled(target), pulled(target, method="HEAD")
    assert headers.body == b""
    assert headers.status == got.status == 200
    for name in ("Content-Type", "Content-Length", "ETag"):
        assert headers.headers[name] == got.headers[name]


@pytest.mark.parametrize("shape", ["{}", "W/{}", '"other", {}', "*"])
def test_what_is_held_already_is_not_sent_again(pulled: Pulled, shape: str) -> None:
    tag = pulled("/v1/results").headers["ETag"]
    again = pulled("/v1/results", If_None_Match=shape.format(tag))
    assert (again.status, again.body, again.headers["ETag"]) == (304, b"", tag)
    assert pulled("/v1/results?since=1&most=1", If_None_Match='"other"').status == 200


# ------------------------------------------------------------------ who may


@pytest.mark.clause("P11 11.10(d)")
@pytest.mark.refuses("P11 11.10(d)")
@pytest.mark.parametrize("token", ["", "x", "SY-00001.", "SY-99999." + "a" * 43, "revoked"])
@pytest.mark.parametrize("path", ["/v1/results", "/v1/certificates/C-2026-00001.pdf"])
def test_without_a_good_token_nothing_is_given(pulled: Pulled, token: str, path: str) -> None:
    got = pulled(path, token)
    assert (got.status, got.code) == (401, "interface.token")
    assert got.headers["WWW-Authenticate"].startswith('Bearer realm="benchseal"')


def test_every_bad_token_is_answered_alike(pulled: Pulled) -> None:
    """Nobody learns which numbers exist, or that a secret was once right."""
    good = pulled.tokens["everything"]
    bad = ("revoked", "SY-00001." + "a" * 43, "SY-99999." + "a" * 43, good[:-1] + ("A" if good[-1] != "A" else "B"))
    assert len({(got.status, got.body) for got in (pulled("/v1/results", one) for one in bad)}) == 1


def test_a_secret_under_another_tokens_number_is_not_good(pulled: Pulled) -> None:
    number, secret = pulled.tokens["results only"].split(".")[0], pulled.tokens["everything"].split(".")[1]
    assert pulled("/v1/results", f"{number}.{secret}").status == 401


def test_an_expired_token_is_not_good_and_one_from_the_future_neither(own: Pulled) -> None:
    made = datetime.now(UTC)
    for days, status in ((0, 200), (29, 200), (32, 401), (4000, 401), (-2, 401)):
        there = at(own.site, made + timedelta(days=days))
        asked = Asked("GET", "/v1/results", (f"Bearer {own.tokens['everything']}",))
        assert int(answer(there, asked).status) == status, days


def test_a_token_counts_on_its_last_day_and_not_on_the_next(own: Pulled) -> None:
    with own.site.store.reading() as view:
        until = datetime.fromisoformat(view.rows("interface_token")[0]["until"]).replace(tzinfo=UTC)
    asked = Asked("GET", "/v1/results", (f"Bearer {own.tokens['everything']}",))
    for moment, status in ((until.replace(hour=23, minute=59), 200), (until + timedelta(days=1), 401)):
        assert int(answer(at(own.site, moment), asked).status) == status


@pytest.mark.parametrize(
    ("token", "path"),
    [("certificates only", "/v1/results"), ("results only", "/v1/certificates/C-2026-00001.pdf")],
)
def test_a_token_for_something_else_is_refused(pulled: Pulled, token: str, path: str) -> None:
    got = pulled(path, token)
    assert (got.status, got.code) == (403, "interface.scope")
    assert 'error="insufficient_scope"' in got.headers["WWW-Authenticate"]


@pytest.mark.parametrize(
    "authorization",
    ["Basic {}", "Bearer", "Bearer  ", "{}", "Bearer {} {}", "Bearer {},", "Token {}", "Bearer\t{}"],
)
def test_a_good_token_shown_otherwise_is_not_taken(pulled: Pulled, authorization: str) -> None:
    shown = authorization.format(*[pulled.tokens["everything"]] * 2)
    assert pulled.asked("GET", "/v1/results", {"Authorization": shown}).code == "interface.token"


def test_two_tokens_at_once_and_one_in_the_address_are_not_taken(pulled: Pulled) -> None:
    token = pulled.tokens["everything"]
    with socket.create_connection(("127.0.0.1", pulled.port), timeout=60) as line:
        shown = f"Authorization: Bearer {token}\r\n"
        line.sendall(f"GET /v1/results HTTP/1.1\r\nHost: 127.0.0.1\r\n{shown}{shown}\r\n".encode())
        assert line.recv(100).split()[1] == b"401"
    assert pulled(f"/v1/results?access_token={token}", "").status == 401


@pytest.mark.refuses("DI Q4")
def test_a_token_of_one_customer_never_shows_another(pulled: Pulled) -> None:
    whole, theirs = walked(pulled, "everything", 500), walked(pulled, "one customer", 3)
    (customer,) = {row["customer_id"] for row in theirs}
    assert theirs == [row for row in whole if row["customer_id"] == customer]
    others = [row for row in whole if row["customer_id"] != customer]
    assert others
    said = json.dumps(theirs)
    for row in others:
        for name in ("customer_id", "lot_id", "lab_sample_id", "certificate_no", "result_id"):
            assert f'"{row[name]}"' not in said
        got = pulled(f"/v1/certificates/{row['certificate_no']}.pdf", "one customer")
        unknown = pulled("/v1/certificates/C-2026-99999.pdf", "one customer")
        assert (got.status, got.body) == (unknown.status, unknown.body) == (404, unknown.body)
    for number in {row["certificate_no"] for row in theirs}:
        assert pulled(f"/v1/certificates/{number}.pdf", "one customer").status == 200


def test_a_page_passes_by_a_bounded_number_of_others(pulled: Pulled, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(interface_reading, "_LOOKED_AT", 1)
    assert walked(pulled, "one customer", 500) == walked(pulled, "one customer", 1)
    nobody = replace(EVERYBODY, customers=frozenset({"nobody"}))
    with pulled.site.store.reading() as view:
        page = page_of(view, nobody, 0, 500)
    assert (page.rows, page.more) == ((), True)
    assert page.next > 0


def test_a_token_revoked_a_moment_ago_opens_nothing(own: Pulled) -> None:
    assert own("/v1/results").status == 200
    perform(own.site, RevokeToken("SY-00001", "lost"), key(own.site, ADMINISTRATOR))
    assert own("/v1/results").status == 401


def test_whoever_writes_into_the_store_alone_makes_no_token(own: Pulled) -> None:
    """The hash is keyed by what is not in the store: a row with a hash of one's own opens nothing."""
    secret = "a" * 43
    forged = hashlib.sha256(f"benchseal-token/1\nSY-00001\n{secret}".encode()).hexdigest()
    with closing(sqlite3.connect(own.site.store.path)) as store:
        store.execute("UPDATE interface_token SET secret_mac = ? WHERE token = 'SY-00001'", (forged,))
        store.commit()
    assert own("/v1/results", f"SY-00001.{secret}").status == 401
    assert own("/v1/results").status == 401


@pytest.mark.parametrize("left", [None, b"", b"zz", b"00" * 31])
def test_without_the_sites_key_no_token_is_good_and_none_is_called_bad(own: Pulled, left: bytes | None) -> None:
    path = own.site.private / KEY_FILE
    kept = path.read_bytes()
    path.unlink()
    if left is not None:
        path.write_bytes(left)
    for shown in (ALL, "revoked", "SY-00099." + "a" * 43):
        got = own("/v1/results", shown)
        assert (got.status, got.code, got.headers["Retry-After"]) == (503, "interface.away", "60")
    assert last_read(own).asked[-1] == "refused=token unchecked"
    assert own("/v1/health", "").status == 503
    assert own("/v1/results", "").status == 401
    path.write_bytes(kept)
    assert own("/v1/results").status == own("/v1/health", "").status == 200


# ------------------------------------------------------------------ bad questions


@pytest.mark.parametrize(
    "query",
    [
        "since=-1", "since=+1", "since=01", "since=1.0", "since=1e3", "since=", "since", "since=x", "since=%00",
        "since=9007199254740992", "since=99999999999999999999", "since=1&since=1", "most=0", "most=501", "most=-1",
        "other=1", "since=1&other=1", "&", "=", "since=1;most=2", "since=\u0661", "since=%D9%A1", "since=null",
        "a=1&b=1&c=1&d=1&e=1&f=1&g=1&h=1&i=1",
    ],
)  # fmt: skip
def test_a_bad_parameter(pulled: Pulled, query: str) -> None:
    token = (f"Bearer {pulled.tokens['everything']}",)
    done = answer(pulled.site, Asked("GET", f"/v1/results?{query}", token))
    assert (done.status, json.loads(done.body)["code"]) == (400, "interface.parameter")


def test_a_number_beyond_the_ledger(pulled: Pulled) -> None:
    with pulled.site.store.reading() as view:
        size = view.size()
    assert pulled(f"/v1/results?since={size}").status == 200
    got = pulled(f"/v1/results?since={size + 1}")
    assert (got.status, got.code) == (409, "interface.since-beyond")


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "QUERY", "GETS"])
@pytest.mark.parametrize("path", ["/v1/results", "/v1/health"])
def test_another_method(pulled: Pulled, method: str, path: str) -> None:
    before = entries(pulled)
    got = pulled(path, method=method)
    assert (got.status, got.code, got.headers["Allow"]) == (405, "interface.method", "GET, HEAD")
    assert entries(pulled) == before


def entries(pulled: Pulled) -> int:
    with pulled.site.store.reading() as view:
        return view.size()


@pytest.mark.refuses("17025 7.11.3")
@pytest.mark.parametrize(
    "path",
    [
        "/v1/", "/v1/results/", "/v1/Results", "/v1/results.json", "/v1/results%2F", "/v1/%72esults", "/v1//results",
        "/v1/../v1/results", "/v1/./results", "/v1/results/..", "/v1/results;x", "/v1/certificates/",
        "/v1/certificates/.pdf", "/v1/certificates/..pdf", "/v1/certificates/../../store.sqlite.pdf",
        "/v1/certificates/..%2F..%2Fprivate%2Finterface.key", "/v1/certificates/C-2026-00001",
        "/v1/certificates/C-2026-00001.PDF", "/v1/certificates/c-2026-00001.pdf", "/v1/certificates/C-2026-00001xpdf",
        "/v1/certificates/C-2026-00001%00.pdf", "/v1/certificates/C-2026-00001.pdf/x",
        "/v1/certificates/" + "C" * 41 + ".pdf",
        "/v1/certificates/C-2026-00001'OR'1.pdf", "/v1/store.sqlite", "/v1/%2e%2e/private/interface.key",
        "/v2/results", "/v1", "/v1results", "//v1/results", "///v1/results",
    ],
)  # fmt: skip
def test_a_path_that_is_none(pulled: Pulled, path: str) -> None:
    got = pulled(path)
    assert got.status == 404
    assert b"SQLite" not in got.body
    if path.lstrip("/").startswith("v1/"):
        assert got.code == "interface.address"


@pytest.mark.parametrize("number", ["C-2026-99999", "X", "P-2026-00001"])
def test_a_certificate_that_is_not_there(pulled: Pulled, number: str) -> None:
    got = pulled(f"/v1/certificates/{number}.pdf")
    assert (got.status, got.code) == (404, "interface.certificate-unknown")


class _Replaced:
    """A withdrawn certificate, and what replaced it for another customer."""

    def __init__(self) -> None:
        self.old = {"number": "C-1", "state": "withdrawn", "customer": "ardlea", "replaces": ""}
        self.new = {"number": "C-1-A1", "state": "released", "customer": "selby", "replaces": "C-1"}

    def row(self, _: str, number: str) -> dict[str, str] | None:
        return self.old if number == "C-1" else None

    def rows(self, _: str, replaces: str) -> list[dict[str, str]]:
        return [self.new] if replaces == "C-1" else []


@pytest.mark.parametrize(("sees", "named"), [(("ardlea",), False), ((), True)], ids=["one customer", "every customer"])
def test_what_stands_in_the_place_is_named_to_whom_it_is_for(sees: tuple[str, ...], named: bool) -> None:
    caller = Caller("SY-00001", "x", frozenset({"certificates"}), frozenset(sees))
    with pytest.raises(Stopped) as stopped:
        certificate_of(cast("Any", _Replaced()), caller, "C-1")
    (said,) = stopped.value.notices
    assert said.what.startswith("it is withdrawn, and ")
    assert "nothing stands in its place" not in said.what
    assert ("C-1-A1" in str(said)) == named


def test_another_sites_page_and_another_host_are_refused(pulled: Pulled) -> None:
    assert pulled("/v1/results", Origin="https://elsewhere.example").status == 403
    got = pulled("/v1/results", Host="elsewhere.example")
    assert (got.status, got.code) == (421, "interface.visitor")


@pytest.mark.parametrize(
    ("target", "lines", "status", "code"),
    [
        ("/v1/results", b"Host: localhost\r\nX: " + b"y" * 70_000 + b"\r\n", 431, "interface.request"),
        ("/v1/results", b"Host: localhost\r\n" + b"X: y\r\n" * 200, 431, "interface.request"),
        ("/v1/results", b"Host: localhost\r\nHost: localhost\r\n", 400, "interface.request"),
        ("/v1/results", b"Host: localhost\r\nHost: elsewhere.example\r\n", 400, "interface.request"),
        ("/v1/results", b"Host: localhost\r\nContent-Length: -1\r\n", 400, "interface.request"),
        ("/v1/results", b"Host: localhost\r\nContent-Length: x\r\n", 400, "interface.request"),
        ("http://elsewhere.example/v1/results", b"Host: localhost\r\n", 421, "interface.visitor"),
        ("http://user@127.0.0.1/v1/results", b"Host: localhost\r\n", 421, "interface.visitor"),
        ("/v1/results?" + "a" * 100_000, b"Host: localhost\r\n", 414, "interface.request"),
        ("http://127.0.0.1/v1/results?" + "a" * 100_000, b"Host: localhost\r\n", 414, "interface.request"),
        ("/v1/results", b"", 421, "interface.visitor"),
    ],
    ids=[
        "long header", "many headers", "two hosts", "two names", "negative", "no number", "whole address",
        "whole address of a user", "long address", "long whole address", "no host",
    ],
)  # fmt: skip
def test_a_request_that_cannot_be_read_is_answered_as_a_problem(
    pulled: Pulled, target: str, lines: bytes, status: int, code: str
) -> None:
    secret = pulled.tokens[ALL].encode()
    with socket.create_connection(("127.0.0.1", pulled.port), timeout=60) as line:
        shown = b"Authorization: Bearer " + secret + b"\r\n"
        line.sendall(b"GET " + target.encode() + b" HTTP/1.1\r\n" + shown + lines + b"\r\n")
        answer = http.client.HTTPResponse(line)
        answer.begin()
        got = Got(answer.status, answer.headers, answer.read())
    assert (got.status, got.code) == (status, code)


@pytest.mark.parametrize("host", ["LOCALHOST", "LocalHost:8448", "[::1]", "127.0.0.1:"])
def test_the_name_of_the_machine_has_no_case(pulled: Pulled, host: str) -> None:
    """RFC 9110, 4.2.3."""
    assert pulled("/v1/health", Host=host).status == 200
    assert pulled("/v1/health", Host=host, Origin=f"http://{host.lower()}").status == 200


@pytest.mark.parametrize("host", ["localhost.example", "localhost:x", "[localhost", "localhost]", "::1", "[]", ":80"])
def test_what_only_resembles_the_machines_name_is_refused(pulled: Pulled, host: str) -> None:
    got = pulled("/v1/health", Host=host)
    assert (got.status, got.code, got.json["title"]) == (421, "interface.visitor", "Misdirected Request")


def test_titles_are_those_of_rfc_9110(pulled: Pulled) -> None:
    """RFC 9110, 15.5.15; Python before 3.13 has the names of RFC 2616."""
    got = sent(pulled, "GET /v1/results?" + "a" * 100_000, "Host: localhost\r\n")
    assert (got.code, got.json["title"]) == ("interface.request", "URI Too Long")
    assert phrase(HTTPStatus.REQUEST_ENTITY_TOO_LARGE) == "Content Too Large"
    assert phrase(HTTPStatus.GONE) == "Gone"


def sent(pulled: Pulled, first: str, lines: str) -> Got:
    """What a request gets, sign by sign as it is written here."""
    with socket.create_connection(("127.0.0.1", pulled.port), timeout=60) as line:
        line.sendall(f"{first} HTTP/1.1\r\n{lines}\r\n".encode())
        answer = http.client.HTTPResponse(line)
        answer.begin()
        return Got(answer.status, answer.headers, answer.read())


def test_another_version_of_http_is_answered_as_a_problem(pulled: Pulled) -> None:
    got = sent(pulled, "GET /v1/results HTTP/9.9\r\nX:", "")
    assert (got.status, got.code) == (505, "interface.request")


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "127.0.0.1:8448", "[::1]:80", "[::1]", "LocalHost:80"])
def test_an_address_in_absolute_form_is_taken(pulled: Pulled, host: str) -> None:
    """RFC 9112, 3.2.2: a server must accept it, and its own host counts, whatever Host says."""
    shown = f"Authorization: Bearer {pulled.tokens[ALL]}\r\n"
    for scheme in ("http", "HTTP"):
        got = sent(pulled, f"GET {scheme}://{host}/v1/results?most=1", f"Host: elsewhere.example\r\n{shown}")
        assert (got.status, got.json["since"]) == (200, 0)
    assert last_read(pulled).command == "GET /v1/results"
    assert sent(pulled, f"GET http://{host}", "Host: localhost\r\n").headers["Content-Type"].startswith("text/html")


@pytest.mark.parametrize("blanks", ["{} ", "{}\t", "  {} \t "])
def test_blanks_around_a_header_are_no_part_of_it(pulled: Pulled, blanks: str) -> None:
    """RFC 9110, 5.5."""
    shown = blanks.format(f"Bearer {pulled.tokens[ALL]}")
    assert sent(pulled, "GET /v1/results?most=1", f"Host: 127.0.0.1 \r\nAuthorization:{shown}\r\n").status == 200


# ------------------------------------------------------------------ what goes wrong with the world


def test_a_stored_file_that_is_not_the_sealed_one_is_not_given(own: Pulled) -> None:
    number, another = number_of(own.site, "A-1"), number_of(own.site, "B-1")
    with closing(sqlite3.connect(own.site.store.path)) as store:
        sealed = dict(store.execute("SELECT number, sealed FROM certificate").fetchall())
        store.execute("DROP TRIGGER objects_no_update")
        store.execute(
            "UPDATE objects SET body = (SELECT body FROM objects WHERE sha256 = ?) WHERE sha256 = ?",
            (sealed[another], sealed[number]),
        )
        store.commit()
    got = own(f"/v1/certificates/{number}.pdf")
    assert (got.status, got.code) == (500, "interface.damaged")
    assert not got.body.startswith(b"%PDF")


def test_a_store_that_cannot_be_read_is_one_problem(own: Pulled) -> None:
    own.site.store.path.write_bytes(b"no store " * 500)
    got = own("/v1/health", "")
    assert got.status in {500, 503}
    assert got.code in {"interface.away", "interface.damaged"}
    assert str(own.site.folder).encode() not in got.body


@pytest.mark.refuses("P11 11.10(g)")
def test_of_a_site_that_was_put_back_the_one_that_stands_there_counts(own: Pulled) -> None:
    """Moved aside and a copy put in its place, as after a restore, while the server runs."""
    folder, number = own.site.folder, number_of(own.site, "A-1")
    assert own(f"/v1/certificates/{number}.pdf").status == own("/v1/health", "").status == 200
    folder.rename(folder.with_name("aside"))
    shutil.copytree(folder.with_name("aside"), folder)
    back = open_site(folder, hashes=cheap_hashes)
    perform(back, RevokeToken("SY-00002", "lost"), key(back, ADMINISTRATOR))
    with closing(sqlite3.connect(back.store.path)) as store:
        store.execute("UPDATE certificate SET state = 'withdrawn' WHERE number = ?", (number,))
        store.commit()
    back.store.close()
    assert own("/v1/results", "results only").code == "interface.token"
    assert own(f"/v1/certificates/{number}.pdf").code == "interface.certificate-gone"
    assert own("/v1/results").status == own("/v1/health", "").status == 200


@pytest.mark.parametrize("away", ["", "store.sqlite", "benchseal.toml"])
def test_a_site_that_is_away_is_away_and_no_token_is_bad(own: Pulled, away: str) -> None:
    place = own.site.folder / away
    aside = own.site.folder.with_name("aside")
    assert own("/v1/results").status == 200
    place.rename(aside)
    for target, shown in (("/v1/results", ALL), ("/v1/results", "revoked"), ("/v1/health", ""), ("/v1/x", ALL)):
        got = own(target, shown)
        assert (got.status, got.code) == (503, "interface.away")
        assert str(own.site.folder).encode() not in got.body
    assert own("/v1/results", method="POST", Origin="http://elsewhere.example").status == 503
    assert not place.exists()
    aside.rename(place)
    assert own("/v1/results").status == own("/v1/health", "").status == 200


def test_an_empty_mount_point_stays_empty(own: Pulled) -> None:
    own.site.folder.rename(own.site.folder.with_name("aside"))
    own.site.folder.mkdir()
    assert own("/v1/results").code == own("/v1/health", "").code == "interface.away"
    assert not list(own.site.folder.iterdir())


def test_a_site_of_another_ledger_is_not_answered_for(own: Pulled) -> None:
    settings = own.site.folder / "benchseal.toml"
    settings.write_text(settings.read_text("utf-8").replace(own.site.ledger, "bs-0000000000000000"), "utf-8")
    assert own("/v1/results").code == own("/v1/health", "").code == "interface.away"


def test_a_fault_of_the_program_shows_no_inside(
    pulled: Pulled, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise ValueError("the inside")

    monkeypatch.setattr(interface, "page_of", broken)
    got = pulled("/v1/results")
    assert (got.status, got.code) == (500, "interface.failed")
    assert "inside" not in got.body.decode() + capfd.readouterr().err


def test_a_read_that_cannot_be_noted_gives_nothing(own: Pulled) -> None:
    for path in own.site.folder.glob("reads-*.jsonl"):
        path.unlink()
    (own.site.folder / f"reads-{stamp(own.site.clock())[:4]}.jsonl").mkdir()
    got = own("/v1/results")
    assert (got.status, got.code, got.headers["Retry-After"]) == (503, "interface.not-noted", "60")
    assert own("/v1/health", "").status == 200


# ------------------------------------------------------------------ the log of reads


@pytest.mark.clause("P11 11.10(d)")
@pytest.mark.parametrize(
    ("target", "token", "person", "asked"),
    [
        ("/v1/results?since=0&most=1", "everything", "SY-00001", ("since=0&most=1", "given=yes")),
        ("/v1/results?most=0", "everything", "SY-00001", ("most=0", "refused=interface.parameter")),
        ("/v1/results", "certificates only", "SY-00003", ("", "refused=interface.scope")),
        ("/v1/results", "revoked", "SY-00005", ("", "refused=token revoked")),
        ("/v1/results", "SY-00001." + "a" * 43, "SY-00001", ("", "refused=token wrong")),
        ("/v1/results", "nonsense", "", ("", "refused=token unknown")),
        ("/v1/certificates/X.pdf", "everything", "SY-00001", ("", "refused=interface.certificate-unknown")),
    ],
)
def test_who_asked_what_is_noted_and_no_secret(
    pulled: Pulled, target: str, token: str, person: str, asked: tuple[str, str]
) -> None:
    pulled(target, token)
    noted = last_read(pulled)
    assert (noted.person, noted.command) == (person, f"GET {target.partition('?')[0]}")
    assert noted.by == ("token" if person else "nobody")
    assert noted.asked == asked


def test_no_secret_is_kept_anywhere(pulled: Pulled) -> None:
    pulled("/v1/results")
    kept = b"".join(path.read_bytes() for path in pulled.site.folder.rglob("*") if path.is_file())
    for shown in pulled.tokens.values():
        assert shown.split(".")[1].encode() not in kept


def reads(pulled: Pulled) -> list[NotedRead]:
    with pulled.site.store.reading() as view:
        return [one.read for one in log_lines(view, pulled.site) if one.read is not None]


@pytest.mark.refuses("17025 7.11.3")
@pytest.mark.parametrize(
    ("first", "command", "asked"),
    [
        ("GET /v1/results?access_token={}", "GET /v1/results", "(other)"),
        ("GET /v1/results?since={}", "GET /v1/results", "since=(other)"),
        ("GET /v1/results?most=1&{}&since=3", "GET /v1/results", "most=1&(other)&since=3"),
        ("GET /v1/results?{}=1", "GET /v1/results", "(other)"),
        ("GET /v1/results?since=%53{}", "GET /v1/results", "since=(other)"),
        ("GET /v1/certificates/{}.pdf", "GET /v1/(other)", ""),
        ("GET /v1/{}", "GET /v1/(other)", ""),
        ("GET /v1/{}?since=1", "GET /v1/(other)", "(other)"),
        ("{} /v1/results", "OTHER /v1/results", ""),
        ("GET http://{}/v1/results", "GET /v1/results", ""),
    ],
)
def test_a_secret_in_a_wrong_place_is_not_noted(pulled: Pulled, first: str, command: str, asked: str) -> None:
    token = pulled.tokens[ALL]
    before = len(reads(pulled))
    got = sent(pulled, first.format(token), f"Host: localhost\r\nAuthorization: Bearer {token}\r\n")
    assert got.status >= 400
    (noted,) = reads(pulled)[before:]
    assert (noted.person, noted.command, noted.asked[0]) == ("SY-00001", command, asked)
    kept = b"".join(path.read_bytes() for path in pulled.site.folder.glob("reads-*"))
    assert token.split(".")[1].encode() not in kept


@pytest.mark.parametrize(
    ("first", "lines", "person", "ended"),
    [
        ("GET /v1/nothing", "", "SY-00001", "refused=interface.address"),
        ("GET /v1/certificates/x.pdf", "", "SY-00001", "refused=interface.address"),
        ("POST /v1/results", "", "SY-00001", "refused=interface.method"),
        ("BREW /v1/results", "", "SY-00001", "refused=interface.method"),
        ("GET /v1/results", "Host: elsewhere.example\r\n", "SY-00001", "refused=interface.visitor"),
        ("GET /v1/results", "Host: localhost\r\nHost: localhost\r\n", "SY-00001", "refused=interface.request"),
        ("GET /v1/results", "Origin: http://elsewhere.example\r\n", "SY-00001", "refused=interface.visitor"),
        ("GET /v1/nothing", "Authorization: Bearer SY-00001.bad\r\n", "", "refused=token unknown"),
        ("GET /v1/results", "Authorization: Basic eDp5\r\n", "", "refused=token unreadable"),
    ],
)
def test_whatever_shows_a_token_is_noted(pulled: Pulled, first: str, lines: str, person: str, ended: str) -> None:
    before = len(reads(pulled))
    shown = "" if "Authorization" in lines else f"Authorization: Bearer {pulled.tokens[ALL]}\r\n"
    assert sent(pulled, first, ("" if "Host" in lines else "Host: localhost\r\n") + lines + shown).status >= 400
    (noted,) = reads(pulled)[before:]
    assert (noted.person, noted.asked[-1]) == (person, ended)


def test_what_shows_no_token_is_not_noted(pulled: Pulled) -> None:
    before = len(reads(pulled))
    for target in ("/v1/nothing", "/v1/results", "/v1/health"):
        pulled(target, "")
    assert len(reads(pulled)) == before


# ------------------------------------------------------------------ the description


def test_the_description_and_the_code_name_the_same() -> None:
    assert list(DESCRIBED["paths"]) == [route.path for route in ROUTES]
    for route in ROUTES:
        methods = DESCRIBED["paths"][route.path]
        assert list(methods) == ["get", "head"]
        for one in methods.values():
            found = {
                each["name"]: (each["schema"]["minimum"], each["schema"]["maximum"], each["schema"]["default"])
                for each in one["parameters"]
                if each.get("in") == "query"
            }
            assert found == route.parameters
            assert one["security"] == ([{"token": [route.scope]}] if route.scope else [])
            every = {"200", "304", "400", "403", "405", "414", "421", "431", "500", "503"}
            assert set(one["responses"]) >= every
            assert ("401" in one["responses"]) == bool(route.scope)
    assert {route.scope for route in ROUTES} - {""} == set(SCOPES)
    assert list(DESCRIBED["components"]["schemas"]["Result"]["properties"]) == ["entry", *ROW_FIELDS]


def test_the_path_of_a_certificate_is_described_as_the_code_reads_it() -> None:
    (number,) = DESCRIBED["paths"]["/v1/certificates/{number}.pdf"]["get"]["parameters"][:1]
    pattern = number["schema"]["pattern"].removeprefix("^").removesuffix("$")
    assert f"({pattern})" in ROUTES[1].pattern.pattern


def valid(name: str, value: object) -> None:
    Draft202012Validator({**DESCRIBED, "$ref": f"#/components/schemas/{name}"}).validate(value)


def test_answers_are_what_the_description_says(pulled: Pulled) -> None:
    valid("Page", pulled("/v1/results?most=500").json)
    for target, token in (("/v1/results?most=0", "everything"), ("/v1/results", ""), ("/v1/x", "")):
        valid("Problem", pulled(target, token).json)


def test_everything_of_the_description_is_described() -> None:
    for schema in DESCRIBED["components"]["schemas"].values():
        assert schema["description"]
        assert all(one.get("description") or "$ref" in one for one in schema["properties"].values())
    Draft202012Validator.check_schema({"$defs": DESCRIBED["components"]["schemas"]})
