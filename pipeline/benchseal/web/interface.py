"""The reading interface: one request to one answer, for systems that pull. It reads, and changes nothing.

Every address, method, parameter, scope and status stands in ``ROUTES`` and in ``schemas/interface.openapi.json``; a
test holds the two equal. Refusals are problem details (RFC 9457); tokens are shown as RFC 6750, 2.1 says.
"""

from __future__ import annotations

import json
import re
import sys
from dataclasses import dataclass, field
from functools import cache
from http import HTTPStatus
from typing import TYPE_CHECKING, Final, NoReturn
from urllib.parse import parse_qsl

from benchseal.desk.clock import stamp
from benchseal.desk.interface_reading import MOST_ROWS, USUAL_ROWS, certificate_of, page_of
from benchseal.desk.interface_tokens import UNCHECKED, caller_of, can_check
from benchseal.desk.read_log import note_read
from benchseal.desk.site import opened_anew
from benchseal.problems import Finding, Notice, Problem, Refusal, Stopped, Trouble
from benchseal.records.canonical import digest
from benchseal.records.interface import Caller
from benchseal.records.released import ROW_FIELDS
from benchseal.shipped import interface_description

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from benchseal.desk.site import Site

ROOT: Final = "/v1/"
LARGEST_NUMBER: Final = 2**53 - 1  # what every JSON reader holds exactly (RFC 8259, 6)
HEADERS: Final = {
    "Cache-Control": "private, no-cache",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
JSON_TYPE: Final = "application/json"
PROBLEM_TYPE: Final = "application/problem+json"
_WHOLE: Final = re.compile(r"0|[1-9][0-9]{0,15}")
_BEARER: Final = re.compile(r"[Bb][Ee][Aa][Rr][Ee][Rr] +([A-Za-z0-9._~+/-]+=*)")  # RFC 6750, 2.1; RFC 9110, 11.1
_MOST_PARAMETERS: Final = 8
_METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "CONNECT", "OPTIONS", "TRACE", "PATCH"})
_UNREADABLE: Final = "unreadable"
# As RFC 9110, 15.5 calls them; the names of Python before 3.13 are those of RFC 2616 and RFC 4918.
_PHRASES: Final = {
    HTTPStatus.REQUEST_ENTITY_TOO_LARGE: "Content Too Large",
    HTTPStatus.REQUEST_URI_TOO_LONG: "URI Too Long",
}
_STATUS: Final = {
    "interface.since-beyond": HTTPStatus.CONFLICT,
    "interface.certificate-unknown": HTTPStatus.NOT_FOUND,
    "interface.certificate-gone": HTTPStatus.GONE,
}


@dataclass(frozen=True, slots=True)
class Asked:
    """One request. target: as it came, nothing decoded. authorization: each such header."""

    method: str
    target: str
    authorization: tuple[str, ...] = ()
    if_none_match: str = ""


@dataclass(frozen=True, slots=True)
class Answered:
    """One answer. headers: all but the length; a body is there for HEAD too, to be left out by who sends it."""

    status: HTTPStatus
    body: bytes
    headers: dict[str, str]


@dataclass(frozen=True, slots=True)
class Route:
    """One address. scope: which a token needs; empty for everybody. parameters: name to least, most and usual."""

    path: str
    scope: str
    gives: Callable[[Site, _Call], tuple[bytes, str]]
    parameters: Mapping[str, tuple[int, int, int]] = field(default_factory=dict)

    @property
    def pattern(self) -> re.Pattern[str]:
        """What the path of a request has to be, sign by sign: no percent, no dots."""
        return re.compile(self.path.replace(".", r"\.").replace("{number}", "([A-Z0-9][A-Z0-9-]{0,39})"))


@dataclass(frozen=True, slots=True)
class _Call:
    """What a route is given."""

    caller: Caller
    number: str
    values: Mapping[str, int]


class _Refused(Exception):  # noqa: N818  it is an answer, not a fault
    def __init__(self, status: HTTPStatus, notice: Notice, **more: str) -> None:
        super().__init__(notice.what)
        self.status, self.notice, self.more = status, notice, more


_AWAY: Final = Trouble(
    "interface.away",
    "interface",
    "the site cannot be read now.",
    "Come again later; if it stays so, tell the laboratory.",
)
_NOBODY: Final = Caller("", "", frozenset(), frozenset())


def answer(site: Site, asked: Asked) -> Answered:
    """What one request gets of the site that stands at its folder now. Nothing is raised.

    A fault of the program is an answer too, without its insides.
    """
    try:
        with opened_anew(site) as now:
            return _given(now, asked)
    except _Refused as refused:
        return refusal(refused.status, refused.notice, **refused.more)
    except Stopped as stopped:
        return _stopped(stopped.notices[0])
    except Exception as fault:  # noqa: BLE001  whatever it is, the caller gets no traceback
        sys.stderr.write(f"interface: {type(fault).__name__} for {_command(asked)}\n")
        what, remedy = "the program failed.", "Nothing was changed. Tell the laboratory when it was."
        return refusal(HTTPStatus.INTERNAL_SERVER_ERROR, Trouble("interface.failed", "interface", what, remedy))


def refusal(status: HTTPStatus, notice: Notice, **more: str) -> Answered:
    """Problem details (RFC 9457, 3): the code, what, and what to do."""
    said = {
        "type": "about:blank",
        "title": phrase(status),
        "status": int(status),
        "detail": notice.what,
        "code": notice.code,
        "remedy": notice.remedy,
    }
    headers = {**HEADERS, "Content-Type": PROBLEM_TYPE, **{name.replace("_", "-"): text for name, text in more.items()}}
    return Answered(status, _json(said), headers)


def phrase(status: HTTPStatus) -> str:
    """What a status is called (RFC 9110, 15)."""
    return _PHRASES.get(status, status.phrase)


def turned_away(site: Site, asked: Asked, status: HTTPStatus, notice: Notice) -> Answered:
    """The refusal of a request that is not looked at any further; noted where it shows a token."""
    try:
        with opened_anew(site) as now:
            _note_refused(now, asked, notice.code)
    except _Refused as refused:
        return refusal(refused.status, refused.notice, **refused.more)
    except Stopped as stopped:
        return _stopped(stopped.notices[0])
    return refusal(status, notice)


def _given(site: Site, asked: Asked) -> Answered:
    path, mark, query = asked.target.partition("?")
    try:
        route, number = _route(asked.method, path)
    except _Refused as refused:
        _note_refused(site, asked, refused.notice.code)
        raise
    caller = _caller(site, asked, route) if route.scope else _NOBODY
    try:
        body, kind = route.gives(site, _Call(caller, number, _values(route, query, given=bool(mark))))
    except (_Refused, Stopped) as refused:
        if route.scope:
            _note(site, caller.token, asked, f"refused={_code(refused)}")
        raise
    if route.scope:
        _note(site, caller.token, asked, "given=yes")
    headers = {**HEADERS, "Content-Type": kind, "ETag": f'"{digest(body)}"'}
    if _is_held(asked.if_none_match, headers["ETag"]):
        return Answered(HTTPStatus.NOT_MODIFIED, b"", headers)
    return Answered(HTTPStatus.OK, body, headers)


def _route(method: str, path: str) -> tuple[Route, str]:
    found = next(((route, at) for route in ROUTES if (at := route.pattern.fullmatch(path))), None)
    if found is None:
        remedy = f"What there is stands in {ROOT}openapi.json."
        raise _Refused(HTTPStatus.NOT_FOUND, Problem("interface.address", path[:80], "there is nothing here.", remedy))
    if method not in {"GET", "HEAD"}:
        notice = Problem("interface.method", path, f"{method} is not answered here.", "Use GET or HEAD.")
        raise _Refused(HTTPStatus.METHOD_NOT_ALLOWED, notice, Allow="GET, HEAD")
    route, at = found
    return route, "".join(at.groups())


def _caller(site: Site, asked: Asked, route: Route) -> Caller:
    """Who asks, allowed to. A token that is none is told nothing of why; the log of reads says it."""
    found = _shown(site, asked)
    if isinstance(found, str):
        if asked.authorization:
            _note(site, found.rpartition(" ")[0], asked, _why_not(found))
        if found.endswith(UNCHECKED):
            raise _Refused(HTTPStatus.SERVICE_UNAVAILABLE, _AWAY, Retry_After="60")
        if not found or found == _UNREADABLE:
            _not_known("no token is shown, or not as one.", "")
        _not_known("the token shown is not a good one.", ', error="invalid_token"')
    if route.scope not in found.scopes:
        _note(site, found.token, asked, "refused=interface.scope")
        what = f"the token is not for {route.scope}."
        notice = Refusal("interface.scope", found.token, what, "Ask the laboratory for a token that is.")
        said = f'Bearer realm="benchseal", error="insufficient_scope", scope="{route.scope}"'
        raise _Refused(HTTPStatus.FORBIDDEN, notice, WWW_Authenticate=said)
    return found


def _shown(site: Site, asked: Asked) -> Caller | str:
    """Who shows a token; else why nobody, behind its number where that is known; empty where nothing is shown."""
    if not asked.authorization:
        return ""
    if len(asked.authorization) != 1 or not (shown := _BEARER.fullmatch(asked.authorization[0])):
        return _UNREADABLE
    with site.store.reading() as view:
        return caller_of(site, view, shown[1], stamp(site.clock()))


def _why_not(found: str) -> str:
    return f"refused=token {found.rpartition(' ')[2]}"


def _not_known(what: str, error: str) -> NoReturn:
    notice = Refusal("interface.token", "Authorization", what, "Show a token as `Authorization: Bearer TOKEN`.")
    raise _Refused(HTTPStatus.UNAUTHORIZED, notice, WWW_Authenticate=f'Bearer realm="benchseal"{error}')


def _values(route: Route, query: str, *, given: bool) -> dict[str, int]:
    """Every parameter of a route: as given once and as a plain whole number, else as usual."""
    values = {name: usual for name, (_, _, usual) in route.parameters.items()}
    if not given:
        return values
    try:
        pairs = parse_qsl(query, keep_blank_values=True, strict_parsing=True, max_num_fields=_MOST_PARAMETERS)
    except ValueError:
        _bad("the part behind ? is not NAME=VALUE, parted by &, or has too many of them.")
    if len({name for name, _ in pairs}) != len(pairs):
        _bad("a parameter is given twice.")
    for name, text in pairs:
        if name not in route.parameters:
            _bad(f"there is no parameter {name[:40]!r} here.")
        least, most, _ = route.parameters[name]
        if not _WHOLE.fullmatch(text) or not least <= int(text) <= most:
            _bad(f"{name} is {text[:40]!r}; it is a whole number from {least} to {most}.")
        values[name] = int(text)
    return values


def _bad(what: str) -> NoReturn:
    notice = Problem("interface.parameter", "query", what, f"What may be asked stands in {ROOT}openapi.json.")
    raise _Refused(HTTPStatus.BAD_REQUEST, notice)


def _note_refused(site: Site, asked: Asked, code: str) -> None:
    """A request that is refused whoever asks, into the log of reads: where something stands in the place of a token."""
    found = _shown(site, asked)
    if not isinstance(found, str):
        _note(site, found.token, asked, f"refused={code}")
    elif found:
        _note(site, found.rpartition(" ")[0], asked, _why_not(found))


def _command(asked: Asked) -> str:
    """What was asked, of known words alone: anything else may hold a token that was put in a wrong place."""
    path = asked.target.partition("?")[0]
    known = any(route.pattern.fullmatch(path) for route in ROUTES)
    return f"{asked.method if asked.method in _METHODS else 'OTHER'} {path if known else f'{ROOT}(other)'}"


def _query(asked: Asked) -> str:
    """The known parameters that were given, as they were; of all else only that it was there."""
    path, _, query = asked.target.partition("?")
    known = {name for route in ROUTES if route.pattern.fullmatch(path) for name in route.parameters}
    pairs = [pair.partition("=") for pair in query.split("&", _MOST_PARAMETERS)] if query else []
    said = [
        "(other)" if name not in known else f"{name}={text if _WHOLE.fullmatch(text) else '(other)'}"
        for name, _, text in pairs
    ]
    return "&".join(said)


def _note(site: Site, token: str, asked: Asked, ended: str) -> None:
    """Into the log of reads, before anything is given. What cannot be noted is not given: a system can come again."""
    failed = note_read(site, token, "token" if token else "nobody", _command(asked), (_query(asked), ended))
    if failed is not None:
        what = "the log of reads takes nothing."
        notice = Trouble("interface.not-noted", "interface", what, "Nothing was given. Come again later.")
        raise _Refused(HTTPStatus.SERVICE_UNAVAILABLE, notice, Retry_After="60")


def _code(refused: _Refused | Stopped) -> str:
    return refused.notice.code if isinstance(refused, _Refused) else refused.notices[0].code


def _stopped(notice: Notice) -> Answered:
    """An act of the desk that stopped. Where the machine or the record is the matter, no name of a file goes out."""
    if (status := _STATUS.get(notice.code)) is not None:
        return refusal(status, notice)
    if isinstance(notice, Finding):
        what, remedy = "what is asked for is not as it was stored.", "Nothing was given. Tell the laboratory."
        return refusal(HTTPStatus.INTERNAL_SERVER_ERROR, Finding("interface.damaged", "interface", what, remedy))
    return refusal(HTTPStatus.SERVICE_UNAVAILABLE, _AWAY, Retry_After="60")


def _is_held(if_none_match: str, tag: str) -> bool:
    """RFC 9110, 13.1.2, compared weakly."""
    held = [one.strip().removeprefix("W/") for one in if_none_match.split(",")]
    return tag in held or held == ["*"]


def _json(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _results(site: Site, call: _Call) -> tuple[bytes, str]:
    with site.store.reading() as view:
        page = page_of(view, call.caller, call.values["since"], call.values["most"])
    rows = [{"entry": seq, **{name: getattr(row, name) for name in ROW_FIELDS}} for seq, row in page.rows]
    said = {"ledger": site.ledger, "since": page.since, "next": page.next, "more": page.more, "results": rows}
    return _json(said), JSON_TYPE


def _certificate(site: Site, call: _Call) -> tuple[bytes, str]:
    with site.store.reading() as view:
        return certificate_of(view, call.caller, call.number), "application/pdf"


def _health(site: Site, _: _Call) -> tuple[bytes, str]:
    with site.store.reading() as view:
        view.size()
        if not can_check(site, view):
            raise Stopped(_AWAY)
    return _json({"status": "ok"}), JSON_TYPE


@cache
def _described() -> bytes:
    return interface_description().encode()


def _description(_: Site, __: _Call) -> tuple[bytes, str]:
    return _described(), JSON_TYPE


ROUTES: Final = (
    Route(
        "/v1/results",
        "results",
        _results,
        {"since": (0, LARGEST_NUMBER, 0), "most": (1, MOST_ROWS, USUAL_ROWS)},
    ),
    Route("/v1/certificates/{number}.pdf", "certificates", _certificate),
    Route("/v1/health", "", _health),
    Route("/v1/openapi.json", "", _description),
)
