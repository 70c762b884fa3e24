"""Keys by the command line: rotated, revoked, followed by a customer and a witness who have the old trust file."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ADMINISTRATOR, APPROVER

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

BOTH = (ADMINISTRATOR, APPROVER)
WHY = ("--reason", "the old disk was sold")


@pytest.mark.clause("P11 11.300(c)")
def test_keys_are_renewed_and_whoever_has_the_old_trust_file_follows(line: Line, tmp_path: Path) -> None:
    old, new, head, state = (str(tmp_path / name) for name in ("old.json", "new.json", "head.json", "witness"))
    shutil.copy(line.site / "trust.json", old)
    pdf = str(line.site / "certificates" / "C-2026-00001.pdf")
    assert line("ledger", "checkpoint", "--out", head, by=(APPROVER,)).code == 0
    assert line("ledger", "witness", head, "--trust", old, "--state", state).code == 0
    size = line.kept().entries
    for key in ("tree", "seal"):
        assert line("key", "rotate", key, *WHY, by=BOTH).code == 0
    listed = line("key", "list", "--json", by=(APPROVER,)).json["keys"]
    assert [(one["key"], one["state"]) for one in listed] == [
        ("seal", "ended"), ("seal", "in force"), ("tree", "ended"), ("tree", "in force"),
    ]  # fmt: skip
    assert line("key", "trust", "--out", new, by=(APPROVER,)).code == 0
    assert line("key", "follow", new, "--before", old).code == 0
    assert line("key", "follow", old, "--before", new).code == 3
    assert [line("verify", pdf, "--trust", name).code for name in (old, new)] == [0, 0]
    assert line("ledger", "checkpoint", "--since", str(size), "--out", head, by=(APPROVER,)).code == 0
    assert line("ledger", "witness", head, "--trust", old, "--state", state).code != 0
    assert line("ledger", "witness", head, "--trust", new, "--state", state).code == 0
    assert line("verify", "--all", "--against", head).code == 0
    assert "doctor.key-left" not in line("doctor", by=(APPROVER,)).err


@pytest.mark.refuses("P11 11.300(c)")
def test_a_revoked_key_is_said_and_what_is_on_record_stays_good(line: Line, tmp_path: Path) -> None:
    pdf = str(line.site / "certificates" / "C-2026-00001.pdf")
    listed = line("key", "list", "--json", by=(APPROVER,)).json["keys"]
    name = next(one["id"] for one in listed if one["key"] == "seal")
    revoke = ("key", "revoke", name, "--since", "2026-01-01", *WHY)
    assert "in force" in line(*revoke, by=BOTH).err
    assert line("key", "rotate", "seal", *WHY, by=BOTH).code == 0
    assert line(*revoke, by=BOTH).code == 0
    trust = str(line.site / "trust.json")
    answer = line("verify", pdf, "--trust", trust)
    assert answer.code == 0
    assert "the laboratory confirms this very file" in answer.out
    assert "is revoked as from 2026-01-01" in line("event", "list", by=(APPROVER,)).out
    assert line("verify", "--all").code == 0
    assert tmp_path.exists()
