"""What a laboratory gives to those who check its certificates: a sheet, and a page for a browser."""

from __future__ import annotations

import json
import os
import signal
import urllib.request
from typing import TYPE_CHECKING

import pikepdf
import pytest

from benchseal.certificate.page_text import page_texts
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line


def test_a_sheet_says_how_to_check_and_which_fingerprint(line: Line, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.pdf"
    assert line("report", "how-to-check", "--pdf", str(sheet), "--paper", "letter").code == 0
    with pikepdf.open(sheet) as opened:
        (text,) = page_texts(opened)
    trust = read_trust(json.loads((line.site / "trust.json").read_text(encoding="utf-8")))
    assert isinstance(trust, Trust)
    assert any(one in "".join(text.split()).lower() for one in trust.fingerprints)
    again = line("report", "how-to-check", "--pdf", str(sheet))
    assert (again.code, "report.exists" in again.err) == (4, True)


@pytest.mark.skipif(os.name == "nt", reason="ended by a signal")
def test_a_browser_gets_the_page_and_the_command_ends_when_told(line: Line) -> None:
    started = line.start("serve", "--port", "0", "--json")
    try:
        assert started.stdout is not None
        said = b""
        while not said.rstrip().endswith(b"}"):
            said += started.stdout.readline()
        address = str(json.loads(said)["address"])
        with urllib.request.urlopen(address, timeout=30) as answer:  # noqa: S310  our own server on this machine
            page = answer.read().decode()
        assert "certificate" in page
        assert address.startswith("http://127.0.0.1:")
    finally:
        started.send_signal(signal.SIGINT)
        assert started.wait(30) == 0
        for pipe in (started.stdout, started.stderr):
            if pipe is not None:
                pipe.close()
    assert "serve.port" in line("serve", "--port", "70000").err
