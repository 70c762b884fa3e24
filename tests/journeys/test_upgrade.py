"""A laboratory takes a new version of the program: what every command says first, who may, and that work goes on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, REVIEWER, one_line
from tests.upkeep.test_upgrade import as_version_3

from benchseal.store.tables import STORE_VERSION

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line


@pytest.mark.clause("P11 11.10(c)")
def test_a_store_of_before_is_brought_along_and_work_goes_on(line: Line, tmp_path: Path) -> None:
    entries = line.kept().entries
    as_version_3(line.site / "store.sqlite", tmp_path)
    for command in (("status",), ("run", "list"), ("verify", "--all")):
        answer = line(*command, by=() if command[0] == "verify" else (ANALYST,))
        assert answer.code == 9
        assert one_line(answer.err)
        assert "`benchseal rebuild`" in answer.err
    by_analyst = line("rebuild", by=(ANALYST,))
    assert (by_analyst.code, line.kept().entries) == (5, entries)
    done = line("rebuild", "--json", by=(ADMINISTRATOR,))
    assert done.code == 0, done.err
    assert (done.json["before"], done.json["now"], done.json["entries"]) == (3, STORE_VERSION, entries + 1)
    assert (line.site / done.json["kept_as"]).is_file()
    assert line("verify", "--all").code == 0
    assert "site.upgraded" in line("ledger", "show", "all", by=(REVIEWER,)).out
    again = line("rebuild", by=(ANALYST,))
    assert "already followed" in again.out
    runs = line("ingest", str(line.inbox("flame-ware.txt")), "--json", by=(ANALYST,)).json["files"][0]["runs"]
    assert line("run", "submit", *runs, by=(ANALYST,)).code == 0
    assert line("run", "accept", *runs, by=(REVIEWER,)).code == 0
    trust = str(line.site / "trust.json")
    for pdf in sorted((line.site / "certificates").glob("*.pdf")):
        assert line("verify", str(pdf), "--trust", trust).code == 0
    assert line("verify", "--all").code == 0
