"""Orders of another system: a profile in force, its file taken whole or refused whole, and kept with its samples."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_corrections import good, refused, whole

from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

HEADER = "ORDER;LOT;ARTICLE;SAMPLE;TEXT;AMOUNT;TAKEN;RECEIVED;PRIORITY\n"
ROWS = "20-1;N-1;4711;007;lozenges;30;01.11.2025;02.11.2025;1\n20-1;N-2;4711;1E5;lozenges;30;;02.11.2025;2\n"
LATE = ("--late-because", "their system was changed over")


@pytest.fixture
def profiled(line: Line, tmp_path: Path) -> Line:
    text = starter("orders/semicolon-orders.yaml")
    (tmp_path / "semicolon-orders.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "semicolon-orders.yaml"), "--json", by=(ANALYST,)))
    return line


def orders(tmp_path: Path, rows: str, count: int = 2) -> str:
    path = tmp_path / "orders.csv"
    path.write_text(f"{HEADER}{rows}END;{count}\n", encoding="utf-8")
    return str(path)


def test_a_file_comes_in_by_a_profile_in_force(profiled: Line, tmp_path: Path) -> None:
    add = ("sample", "add", orders(tmp_path, ROWS), "--profile", "semicolon-orders", *LATE)
    refused(profiled(*add, by=(ANALYST,)), "import.profile-not-in-force")
    good(profiled("document", "approve", "import_profile/semicolon-orders", "--json", by=(APPROVER,)))
    taken = good(profiled(*add, "--json", by=(ANALYST,)))
    first, second = taken["samples"]
    shown = profiled("sample", "show", str(first), by=(ANALYST,)).out
    assert "lot N-1 of Zinc lozenge 10 mg, customer ardlea" in shown
    assert "2025-11-02" in shown
    entry = profiled("ledger", "find", "--subject", f"sample/{second}", by=(ANALYST,)).out
    assert "sample.added" in entry
    again = profiled(*add, "--json", by=(ANALYST,))
    assert [each["code"] for each in again.json["problems"]] == ["sample.already"] * 2
    assert again.json["problems"][0]["where"].endswith("orders.csv, line 2, lot N-1")
    assert whole(profiled)


def test_a_file_with_a_fault_leaves_nothing(profiled: Line, tmp_path: Path) -> None:
    good(profiled("document", "approve", "import_profile/semicolon-orders", "--json", by=(APPROVER,)))
    before = profiled.rows("SELECT COUNT(*) FROM sample")
    for rows, count, code in (
        (ROWS, 3, "import.count-differs"),
        (ROWS.replace("4711", "4712", 1), 2, "import.unmapped"),
        (ROWS.replace("02.11.2025", "02.11.2925"), 2, "sheet.future"),
    ):
        path = orders(tmp_path, rows, count)
        refused(profiled("sample", "add", path, "--profile", "semicolon-orders", *LATE, by=(ANALYST,)), code)
    assert profiled.rows("SELECT COUNT(*) FROM sample") == before
    refused(profiled("sample", "add", orders(tmp_path, ROWS), *LATE, by=(ANALYST,)), "documents.separator-unknown")
