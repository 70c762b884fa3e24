"""The seal by the command line: a certified key taken from its file; time-stamps asked for by the rules of the site."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from tests.certifying import PASSPHRASE, lasting, lasting_certificates, rsa_key
from tests.desk.test_time_stamps import nobody, stamper_at
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, SECOND_APPROVER, one_line
from tests.stamping import on_loopback
from tests.tokens import KEY, LABEL, MODULE, PIN, SECRET, TokenFolder, needs_softhsm

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

BOTH = (ADMINISTRATOR, APPROVER)
WHY = ("--reason", "certified by the authority we chose")


def file_of_an_authority(folder: Path) -> str:
    """A PKCS#12 file whose certificates are valid on this machine's day."""
    path = folder / "seal.p12"
    path.write_bytes(lasting(datetime.now(UTC)))
    return str(path)


@pytest.mark.clause("P11 11.300(c)")
def test_a_certified_key_takes_over_and_a_customer_follows(line: Line, tmp_path: Path) -> None:
    old, pdf = tmp_path / "old.json", str(line.site / "certificates" / "C-2026-00001.pdf")
    old.write_bytes((line.site / "trust.json").read_bytes())
    file = file_of_an_authority(tmp_path)
    wrong = line("key", "import", file, *WHY, by=BOTH, more=("not this one",))
    assert (wrong.code, one_line(wrong.err)) == (4, True)
    assert "keys.file-password" in wrong.err
    missing = line("key", "import", str(tmp_path / "none.p12"), *WHY, by=BOTH, more=(PASSPHRASE,))
    assert "file.missing" in missing.err
    taken = line("key", "import", file, *WHY, by=BOTH, more=(PASSPHRASE,))
    assert taken.code == 0, taken.err
    assert "issued under" in taken.out
    assert PASSPHRASE not in taken.out + taken.err
    new = str(line.site / "trust.json")
    assert line("key", "follow", new, "--before", str(old)).code == 0
    assert line("verify", pdf, "--trust", new).code == 0
    listed = line("key", "list", "--json", by=(APPROVER,)).json["keys"]
    assert [one["state"] for one in listed if one["key"] == "seal"] == ["ended", "in force"]
    assert line("verify", "--all").code == 0


@needs_softhsm
@pytest.mark.clause("P11 11.300(c)")
def test_a_key_in_a_token_takes_over_and_seals(line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    token, pems = TokenFolder.make(tmp_path / "softhsm", monkeypatch), tmp_path / "seal.pem"
    token.add_token()
    token.add_key(rsa_key("leaf"))
    pems.write_bytes(lasting_certificates(datetime.now(UTC)))
    command = ("key", "token", "--module", MODULE, "--token", LABEL, "--key", KEY, "--certificates", str(pems), *WHY)
    wrong = line(*command, "--pin", PIN, by=BOTH)
    assert (wrong.code, one_line(wrong.err), PIN in wrong.err) == (4, True, False)
    assert "keys.token-pin-name" in wrong.err
    taken = line(*command, "--pin", SECRET, by=BOTH)
    assert taken.code == 0, taken.err
    assert "stays there" in taken.out
    assert f"in force, in token {LABEL}" in line("key", "list", by=(APPROVER,)).out
    number = approved(line)
    token.take_away()
    away = line("certificate", "release", number, by=(SECOND_APPROVER,))
    assert (away.code, one_line(away.err)) == (75, True)
    assert "keys.token-away" in away.err
    assert "seal key" in line("doctor", by=(ADMINISTRATOR,)).out
    token.put_back()
    assert line("certificate", "release", number, by=(SECOND_APPROVER,)).code == 0
    pdf, trust = str(line.site / "certificates" / f"{number}.pdf"), str(line.site / "trust.json")
    checked = line("verify", pdf, "--trust", trust)
    assert (checked.code, checked.out.splitlines()[0]) == (0, "GENUINE")
    gone = line("certificate", "withdraw", number, "--reason", "a wrong sample", by=(SECOND_APPROVER,))
    assert gone.code == 0, gone.err
    notice = line.site / "certificates" / f"{number}-W.pdf"
    assert line("verify", str(notice), "--trust", trust).code == 0
    assert line("verify", "--all").code == 0


def rules_of(folder: Path, url: str, trusted: bytes, without: str) -> str:
    """A file of rules that names one authority."""
    pem = x509.load_der_x509_certificate(trusted).public_bytes(Encoding.PEM).decode()
    lines = "".join(f"      {line}\n" for line in pem.splitlines())
    path = folder / "rules.yaml"
    path.write_text(
        "kind: site_rules\nid: RULES\ntime_stamps:\n"
        f"  - url: {url}\n    seconds: 1\n    certificate: |\n{lines}without_time_stamp: '{without}'\n"
    )
    return str(path)


def asks(line: Line, folder: Path, url: str, trusted: bytes, without: str = "") -> None:
    """Put rules in force that name one authority."""
    assert line("document", "add", rules_of(folder, url, trusted, without), by=(ANALYST,)).code == 0
    assert line("document", "approve", "RULES", by=(APPROVER,)).code == 0


def approved(line: Line) -> str:
    """A certificate that only waits for its release."""
    number = str(line("certificate", "draft", "B-2", "--json", by=(ANALYST,)).json["number"])
    assert line("certificate", "approve", number, by=(APPROVER,)).code == 0
    return number


@pytest.mark.clause("P11 11.10(e)")
def test_a_time_stamp_is_asked_for_and_waited_for(line: Line, tmp_path: Path) -> None:
    stamper, old = stamper_at(datetime.now(UTC)), tmp_path / "old.json"
    old.write_bytes((line.site / "trust.json").read_bytes())
    asks(line, tmp_path, nobody(), stamper.trusted)
    number = approved(line)
    waits = line("certificate", "release", number, by=(SECOND_APPROVER,))
    assert (waits.code != 0, one_line(waits.err)) == (True, True)
    assert "seal.time-stamp-silent" in waits.err
    with on_loopback(stamper.reply) as url:
        asks(line, tmp_path, url, stamper.trusted)
        done = line("certificate", "release", number, by=(SECOND_APPROVER,))
    assert done.code == 0, done.err
    pdf, trust = str(line.site / "certificates" / f"{number}.pdf"), str(line.site / "trust.json")
    checked = line("verify", pdf, "--trust", trust)
    assert checked.code == 0, checked.out
    assert "time-stamp: CN=Quay Light Stamps" in checked.out
    followed = line("key", "follow", trust, "--before", str(old))
    assert (followed.code, hashlib.sha256(stamper.trusted).hexdigest() in followed.out) == (0, True)
    assert line("verify", "--all").code == 0


def test_a_time_stamp_is_done_without_where_the_rules_allow_it(line: Line, tmp_path: Path) -> None:
    asks(line, tmp_path, nobody(), stamper_at(datetime.now(UTC)).trusted, "allowed")
    number = approved(line)
    bare = line("certificate", "release", number, by=(SECOND_APPROVER,))
    assert bare.code == 0, bare.err
    assert "no time-stamp" in bare.out
    assert "was sealed without a time-stamp" in line("event", "list", by=(APPROVER,)).out
    trust = str(line.site / "trust.json")
    assert line("verify", str(line.site / "certificates" / f"{number}.pdf"), "--trust", trust).code == 0


@pytest.mark.clause("P11 11.10(c)")
def test_archive_material_is_made_and_checked_anywhere(line: Line, tmp_path: Path) -> None:
    number, out, trust = "C-2026-00001", str(tmp_path / "one.zip"), str(line.site / "trust.json")
    made = line("certificate", "archive", number, "--out", out, by=(APPROVER,))
    assert made.code == 0, made.err
    assert line("verify", "--archive", out, "--trust", trust).code == 0
    copy = tmp_path / "alone"
    copy.mkdir()
    alone = line("verify", "--archive", out, "--site", str(copy))
    assert (alone.code, alone.out.splitlines()[0]) == (3, "UNKNOWN")
    beside = line("verify", "--archive", out, "--all")
    assert "verify.copy-beside" in beside.err
    (tmp_path / "no.crl").write_bytes(b"nothing of the kind")
    bad = line("certificate", "archive", number, "--revocation", str(tmp_path / "no.crl"), "--out", out, by=(APPROVER,))
    assert "archive.revocation" in bad.err
    missing = line("certificate", "archive", "C-2026-09999", "--out", out, by=(APPROVER,))
    assert "certificate.not-issued" in missing.err
