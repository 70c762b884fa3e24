"""An invented time-stamp authority for tests, in this process or on loopback. Never used outside tests.

It answers as RFC 3161 has it; each way to answer wrongly is a field. pyHanko's test authority signs the good answers of
RSA, so that they are not made by the code they test; the bad ones are signed here with asn1crypto and cryptography.
"""

from __future__ import annotations

import hashlib
import threading
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import TYPE_CHECKING, Any

from asn1crypto import cms, core, keys, tsp
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from pyhanko.sign.timestamps.dummy_client import DummyTimeStamper
from tests.certifying import LATER, NOW, Wish, certified, rsa_key

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from cryptography import x509

STAMPING = "1.3.6.1.5.5.7.3.8"
PYHANKO_POLICY = "1.3.6.1.4.1.4146.2.2"  # the one its test authority always names
STAMP_ROOT = Wish("Quay Light Stamps Root", authority=True, serial=31, last=LATER + timedelta(days=3650))
STAMPER = Wish(
    "Quay Light Stamps",
    issuer=STAMP_ROOT.name,
    serial=32,
    extended=(STAMPING,),
    extended_critical=True,
    last=LATER + timedelta(days=3650),
)


@dataclass(frozen=True)
class Stamper:
    """An authority. at: the time it states; None: that of the machine. wish: its certificate's."""

    at: datetime | None = NOW + timedelta(minutes=10)
    wish: Wish = STAMPER
    root: Wish = STAMP_ROOT
    key: str = "stamper"
    asked: list[bytes] = field(default_factory=list)

    @property
    def certificate(self) -> x509.Certificate:
        return certified(self.wish, rsa_key(self.key, 2048), rsa_key("stamp root"))

    @property
    def trusted(self) -> bytes:
        """What a laboratory trusts: the certificate above it, DER."""
        return certified(self.root, rsa_key("stamp root"), rsa_key("stamp root")).public_bytes(Encoding.DER)

    def reply(self, request: bytes) -> bytes:
        """The answer to a request, DER."""
        self.asked.append(request)
        made = DummyTimeStamper(
            asn1_x509.Certificate.load(self.certificate.public_bytes(Encoding.DER)),
            keys.PrivateKeyInfo.load(
                rsa_key(self.key, 2048).private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
            ),
            certs_to_embed=[asn1_x509.Certificate.load(self.trusted)],  # type: ignore[arg-type]
            fixed_dt=self.at or datetime.now(UTC),
        ).request_tsa_response(tsp.TimeStampReq.load(request))
        answer: bytes = made.dump()
        return answer

    def stamp(self, imprint: bytes) -> bytes:
        """A token straight to the point, as ``seal`` wants it: request, answer, one form."""
        from benchseal.certificate.time_stamp import request_bytes, token_of  # noqa: PLC0415

        return token_of(self.reply(request_bytes(imprint, 77)), imprint, 77)


def signed_anew(reply: bytes, stamper: Stamper, change: Callable[[Any], None]) -> bytes:
    """An answer whose time-stamp is ``change``d and signed again by the same authority, all else as it should be."""
    answer = tsp.TimeStampResp.load(reply)
    signed = answer["time_stamp_token"]["content"]
    info = tsp.TSTInfo.load(bytes(signed["encap_content_info"]["content"]))
    change(info)
    held = info.dump(force=True)
    signer = signed["signer_infos"][0]
    attributes = cms.CMSAttributes(
        [
            one if one["type"].native != "message_digest" else cms.CMSAttribute(
                {"type": "message_digest", "values": [hashlib.sha256(held).digest()]}
            )
            for one in signer["signed_attrs"]
        ]
    )  # fmt: skip
    signer["signed_attrs"] = attributes
    signer["signature"] = rsa_key(stamper.key, 2048).sign(attributes.dump(), PKCS1v15(), SHA256())
    signed["signer_infos"] = [signer]
    signed["encap_content_info"] = content_of(held)
    made: bytes = answer.dump(force=True)
    return made


def content_of(held: bytes) -> cms.EncapsulatedContentInfo:
    """A time-stamp as a token carries it."""
    return cms.EncapsulatedContentInfo({"content_type": "tst_info", "content": core.ParsableOctetString(held)})


def other(**changed: Any) -> Stamper:  # noqa: ANN401  fields of a wish
    """An authority whose certificate differs in what is named."""
    return Stamper(wish=replace(STAMPER, **changed))


@contextmanager
def on_loopback(answer: Callable[[bytes], bytes], status: int = 200) -> Iterator[str]:
    """A server on this machine that answers every request with ``answer``; its address."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            data = self.rfile.read(int(self.headers["Content-Length"]))
            body = answer(data)
            self.send_response(status)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/stamp"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
