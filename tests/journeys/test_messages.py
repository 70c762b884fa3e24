"""Results delivered as messages by commands, and read back by ``hl7apy``."""

from __future__ import annotations

import csv
import json
from typing import TYPE_CHECKING, Any

from hl7apy.consts import VALIDATION_LEVEL
from hl7apy.parser import parse_message
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_corrections import good

from benchseal.export.delivery import check_manifest
from benchseal.shipped import starter

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line


def taken(line: Line, tmp_path: Path, profile: str, text: str) -> Path:
    """The folder of one delivery by a profile that is added, approved and run."""
    (tmp_path / f"{profile}.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / f"{profile}.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", f"profile/{profile}", "--json", by=(APPROVER,)))
    folder = tmp_path / f"from-{profile}"
    folder.mkdir()
    good(line("export", "run", profile, "--to", str(folder), "--json", by=(APPROVER,)))
    return folder


def observed(path: Path) -> dict[tuple[str, str, str], str]:
    """Value by sample, result and revision, as a public library reads them."""
    found: dict[tuple[str, str, str], str] = {}
    for part in path.read_bytes().decode().split("MSH|")[1:]:
        text = "MSH|" + part.partition("BTS|")[0]
        message: Any = parse_message(text, validation_level=VALIDATION_LEVEL.STRICT)
        assert message.validate()
        order = message.oru_r01_patient_result.oru_r01_order_observation
        by_result: dict[str, dict[str, str]] = {}
        for one in order.oru_r01_observation:
            field = one.obx.obx_3.ce_1.value if one.obx.obx_3.ce_1.value.islower() else "value"
            by_result.setdefault(one.obx.obx_4.value, {})[field] = one.obx.obx_5.to_er7()
        for held in by_result.values():
            found[order.obr.obr_3.value, held["result_id"], held["revision"]] = held["value"]
    return found


def test_messages_say_what_the_table_says(line: Line, tmp_path: Path) -> None:
    text = starter("profiles/messages-hl7.yaml")
    tried = line("export", "check", str(_written(tmp_path / "tried.yaml", text)), by=(ANALYST,))
    assert tried.code == 0
    folder = taken(line, tmp_path, "messages-hl7", text)
    table = taken(
        line, tmp_path, "comma-again", starter("profiles/comma-utf8.yaml").replace("comma-utf8", "comma-again")
    )
    (data,) = folder.glob("*.hl7")
    (manifest,) = folder.glob("*.manifest.json")
    assert check_manifest(manifest.read_bytes(), {data.name: data.read_bytes()}) == ()
    with next(table.glob("*.csv")).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    due = {
        (row["lab_sample_id"], row["result_id"], row["revision"]): ("<^" if row["qualifier"] else "")
        + row["value_number"]
        for row in rows
    }
    assert len(due) == len(rows) > 17
    assert observed(data) == due
    assert json.loads(manifest.read_bytes())["files"][0]["rows"] == len(rows)


def test_a_result_without_a_code_stops_the_delivery_and_nothing_is_put_down(line: Line, tmp_path: Path) -> None:
    lines = starter("profiles/messages-hl7.yaml").splitlines(keepends=True)
    text = "".join(line for line in lines if "element: Hg," not in line)
    assert len(text.splitlines()) == len(lines) - 1
    good(line("document", "add", str(_written(tmp_path / "messages-hl7.yaml", text)), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/messages-hl7", "--json", by=(APPROVER,)))
    shown = line("export", "preview", "messages-hl7", by=(ANALYST,))
    assert "OBX|1|NM|ZN-CLAIM^" in shown.out
    folder = tmp_path / "there"
    folder.mkdir()
    answer = line("export", "run", "messages-hl7", "--to", str(folder), by=(APPROVER,))
    assert answer.code == 4
    assert "export.hl7-unmapped" in answer.err
    assert "Hg, content, total, as received, ug/g" in answer.err
    assert list(folder.iterdir()) == []


def _written(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path
