"""The seal by the command line: a key certified by an authority taken from its file."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from tests.certifying import PASSPHRASE, lasting
from tests.journeys.commands import ADMINISTRATOR, APPROVER, one_line

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
