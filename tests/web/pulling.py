"""A copy of the played demo answering systems on the loopback, with a token of every kind."""

from __future__ import annotations

import http.client
import json
import shutil
import threading
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from tests.conftest import cheap_hashes

from benchseal.desk.acts_interface import MakeToken, RevokeToken
from benchseal.desk.admission import Password
from benchseal.desk.perform import perform
from benchseal.desk.site import Site, open_site
from benchseal.web.server import Limits, VerificationServer

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.demo.play import Played

ALL = "everything"
ADMINISTRATOR, APPROVER = "p-sil.penhallow", "p-ruth.calloway"


@dataclass(frozen=True)
class Got:
    """One answer."""

    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def json(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.body)
        return found

    @property
    def code(self) -> str:
        """Of a problem; where it is one, its media type and status are as they have to be."""
        assert self.headers["Content-Type"] == "application/problem+json"
        assert self.json["status"] == self.status
        assert b"Traceback" not in self.body
        return str(self.json["code"])


@dataclass
class Pulled:
    """A site that answers. tokens: name to secret."""

    site: Site
    port: int = 0
    tokens: dict[str, str] = field(default_factory=dict)

    def __call__(self, target: str, token: str = ALL, method: str = "GET", **headers: str) -> Got:
        named = {name.replace("_", "-"): text for name, text in headers.items()}
        if token:
            named["Authorization"] = f"Bearer {self.tokens.get(token, token)}"
        return self.asked(method, target, named)

    def asked(self, method: str, target: str, headers: dict[str, str]) -> Got:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            line.request(method, target, headers=headers)
            answer = line.getresponse()
            return Got(answer.status, answer.headers, answer.read())
        finally:
            line.close()

    def make(self, name: str, scopes: tuple[str, ...], *customers: str) -> str:
        until = f"{datetime.now(UTC) + timedelta(days=30):%Y-%m-%d}"
        act = MakeToken(name, scopes, customers, until, "their order")
        done = perform(self.site, act, key(self.site, ADMINISTRATOR), key(self.site, APPROVER))
        self.tokens[name] = str(done.data["secret"])
        return str(done.data["token"])


def number_of(site: Site, lot: str) -> str:
    """The certificate of a lot of the demo."""
    with site.store.reading() as view:
        return str(view.rows("certificate", lot=lot)[0]["number"])


def key(site: Site, person: str) -> Password:
    lines = (site.private / "demo-people.txt").read_text(encoding="utf-8").splitlines()
    return Password(person, dict(line.split("\t")[:2] for line in lines)[person])


@contextmanager
def answering(site: Site, limits: Limits | None = None) -> Iterator[int]:
    """The port of a server that reads this site."""
    with VerificationServer("127.0.0.1", 0, None, limits=limits, site=site) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        try:
            yield server.server_port
        finally:
            server.shutdown()
            thread.join()


@contextmanager
def pulled_from(played: Played, folder: Path) -> Iterator[Pulled]:
    """The demo, answering; tokens for everything, one scope each, one customer, and one revoked."""
    shutil.copytree(played.site.folder, folder)
    site = open_site(folder, hashes=cheap_hashes)
    with site.store.reading() as view:
        (customer,) = {str(row["customer"]) for row in view.rows("certificate", lot="A-1")}
    made = Pulled(site)
    both = ("results", "certificates")
    made.make("everything", both)
    made.make("results only", ("results",))
    made.make("certificates only", ("certificates",))
    made.make("one customer", both, customer)
    gone = made.make("revoked", both)
    perform(site, RevokeToken(gone, "the system was replaced"), key(site, ADMINISTRATOR))
    with answering(site) as port:
        made.port = port
        yield made
    site.store.close()
