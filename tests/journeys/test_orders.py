"""Orders of another system: a profile in force, its file taken whole or refused whole, and kept with its samples."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_corrections import done, good, refused, whole

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
    assert [each["code"] for each in again.json["problems"]] == ["sample.file-already"]
    assert again.json["problems"][0]["where"].endswith("orders.csv")
    assert f"{first} to {second}" in again.json["problems"][0]["what"]
    swapped = orders(tmp_path, "".join(reversed(ROWS.splitlines(keepends=True))))
    again = profiled("sample", "add", swapped, "--profile", "semicolon-orders", *LATE, "--json", by=(ANALYST,))
    assert [each["code"] for each in again.json["problems"]] == ["sample.already"] * 2
    assert again.json["problems"][0]["where"].endswith("orders.csv, line 2, lot N-2")
    assert whole(profiled)


def test_the_same_bytes_are_refused_whatever_was_corrected_or_approved_since(profiled: Line, tmp_path: Path) -> None:
    good(profiled("document", "approve", "import_profile/semicolon-orders", "--json", by=(APPROVER,)))
    add = ("sample", "add", orders(tmp_path, ROWS), "--profile", "semicolon-orders", *LATE)
    first, _ = good(profiled(*add, "--json", by=(ANALYST,)))["samples"]
    done(profiled, "sample", "correct", str(first), "--set", "description=white", "--reason", "typed", by=(ANALYST,))
    refused(profiled(*add, by=(ANALYST,)), "sample.file-already")
    path = tmp_path / "semicolon-orders.yaml"
    text = path.read_text(encoding="utf-8")
    fixed = text.replace("closed, as sent", "closed and dry")
    assert fixed != text
    path.write_text(fixed, encoding="utf-8")
    good(profiled("document", "add", str(path), "--json", by=(ANALYST,)))
    good(profiled("document", "approve", "import_profile/semicolon-orders", "--json", by=(APPROVER,)))
    refused(profiled(*add, by=(ANALYST,)), "sample.file-already")
    assert whole(profiled)


def test_an_order_sent_again_with_another_amount_waits_for_a_person(profiled: Line, tmp_path: Path) -> None:
    good(profiled("document", "approve", "import_profile/semicolon-orders", "--json", by=(APPROVER,)))
    by_profile = ("--profile", "semicolon-orders", *LATE)
    first, second = good(profiled("sample", "add", orders(tmp_path, ROWS), *by_profile, "--json", by=(ANALYST,)))[
        "samples"
    ]
    again = ("sample", "add", orders(tmp_path, ROWS.replace(";30;", ";31;")), *by_profile)
    met = profiled(*again, "--json", by=(ANALYST,)).json["problems"]
    assert [each["code"] for each in met] == ["sample.alike"] * 2
    assert met[0]["what"].startswith(f"{first} on record")
    assert met[1]["what"].endswith("other: quantity received.")
    why = ("--separate-because", "a second box came the same day")
    numbers = good(profiled(*again, *why, "--json", by=(ANALYST,)))["samples"]
    assert not {first, second} & set(numbers)
    assert why[1] in profiled("ledger", "show", f"sample/{numbers[0]}", by=(ANALYST,)).out
    other = orders(tmp_path, ROWS.replace(";N-1;", ";N-7;").replace(";N-2;", ";N-8;"))
    refused(profiled("sample", "add", other, *by_profile, *why, by=(ANALYST,)), "sample.not-alike")
    told = good(profiled("sample", "add", other, *by_profile, "--json", by=(ANALYST,)))
    assert len(told["remarks"]) == 2
    assert f"identifier 007 is that of {first} (lot N-1) too" in told["remarks"][0]
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
