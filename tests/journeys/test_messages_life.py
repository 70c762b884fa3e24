"""Messages of HL7 v2.5.1 through the life of results: tried, read back, partly rejected, corrected and withdrawn."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hl7apy.consts import VALIDATION_LEVEL
from hl7apy.parser import parse_message
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_after_release import corrected, issued
from tests.journeys.test_corrections import good, refused

from benchseal.export.delivery import check_manifest
from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.journeys.commands import Line

PROFILE = starter("profiles/messages-hl7.yaml")
SAME_ROWS = starter("profiles/comma-utf8.yaml").replace("id: comma-utf8", "id: same-rows")
WHY = "the sample was of another lot"


def approved(line: Line, tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / f"{name}.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", f"profile/{name}", "--json", by=(APPROVER,)))


@pytest.fixture
def bench(line: Line, tmp_path: Path) -> Line:
    """A site with the profile of messages, and another that shows the same rows as columns."""
    approved(line, tmp_path, "messages-hl7", PROFILE + "acknowledge: {within_hours: 24}\n")
    approved(line, tmp_path, "same-rows", SAME_ROWS)
    return line


def run(line: Line, name: str) -> tuple[Path, str]:
    """The file of the one delivery of a profile, and the delivery."""
    (one,) = good(line("export", "run", name, "--json", by=(APPROVER,)))["deliveries"]
    return Path(str(one["file"])), str(one["delivery"])


def rows(line: Line) -> dict[str, dict[str, str]]:
    """What the other profile sends next, by result; it counts as sent afterwards."""
    found: dict[str, dict[str, str]] = {}
    for cell in good(line("export", "preview", "same-rows", "--json", by=(APPROVER,)))["cells"]:
        found.setdefault(str(cell["row"]), {})[cell["field"]] = cell["text"]
    run(line, "same-rows")
    return {row["result_id"]: row for row in found.values()}


def read(file: Path) -> tuple[list[Any], dict[str, dict[str, Any]]]:
    """Every message as hl7apy reads it, strictly; the OBX of each result under the codes of the laboratory."""
    lines = file.read_bytes().decode("utf-8").split("\r")
    assert [line[:3] for line in (*lines[:2], *lines[-3:])] == ["FHS", "BHS", "BTS", "FTS", ""]
    texts: list[list[str]] = []
    for line in lines[2:-3]:
        if line.startswith("MSH"):
            texts.append([])
        texts[-1].append(line)
    assert lines[-3] == f"BTS|{len(texts)}"
    messages = [parse_message("\r".join(one) + "\r", validation_level=VALIDATION_LEVEL.STRICT) for one in texts]
    assert all(message.validate() for message in messages)
    results: dict[str, dict[str, Any]] = {}
    for message in messages:
        groups: dict[str, dict[str, Any]] = {}
        for one in message.oru_r01_patient_result.oru_r01_order_observation.oru_r01_observation:
            code = one.obx.obx_3.ce_1.value
            own = code if one.obx.obx_3.ce_2.value == code.replace("_", " ") else "value"
            groups.setdefault(one.obx.obx_4.value, {})[own] = one.obx
        results |= {group["result_id"].obx_5.value: group for group in groups.values()}
    return messages, results


def test_every_released_result_arrives_to_the_last_figure(bench: Line) -> None:
    file, _ = run(bench, "messages-hl7")
    assert file.suffix == ".hl7"
    (manifest,) = file.parent.glob(f"{file.stem}.manifest.json")
    assert check_manifest(manifest.read_bytes(), {file.name: file.read_bytes()}) == ()
    due = rows(bench)
    messages, results = read(file)
    assert len(messages) == len({(row["certificate_no"], row["lab_sample_id"]) for row in due.values()})
    assert set(results) == set(due)
    assert {row["qualifier"] for row in due.values()} == {"", "<"}
    for result, row in due.items():
        held = results[result]
        value = held["value"]
        assert value.obx_5.to_er7() == ("<^" if row["qualifier"] else "") + row["value_number"]
        assert (value.obx_6.ce_1.value, value.obx_11.value) == (row["unit_ucum"], "F")
        assert value.obx_3.ce_4.value == row["cas_number"]
        for field in ("expanded_uncertainty", "coverage_factor", "quantitation_limit", "verdict", "row_no", "revision"):
            assert (held[field].obx_5.value if field in held else "") == row[field], field


def test_it_is_tried_shown_and_done_once(bench: Line, tmp_path: Path) -> None:
    cases = good(bench("export", "check", "messages-hl7", "--json", by=(ANALYST,)))["cases"]
    assert {row["outcome"] for row in cases if row["case"] == "a withdrawn result"} == {"written"}
    assert any(row["why"].startswith("export.hl7-unmapped: OBX of value_number: ") for row in cases)
    cells = good(bench("export", "preview", "messages-hl7", "--json", by=(APPROVER,)))["cells"]
    assert {cell["column"] for cell in cells} >= {"MSH", "ORC", "OBR", "OBX", "SPM"}
    good(bench("export", "run", "messages-hl7", "--dry-run", "--json", by=(APPROVER,)))
    assert bench.rows("SELECT count(*) FROM delivery WHERE profile = 'messages-hl7'") == [(0,)]
    file, delivery = run(bench, "messages-hl7")
    (tmp_path / "again").mkdir()
    good(bench("export", "again", delivery, "--to", str(tmp_path / "again"), "--json", by=(APPROVER,)))
    assert (tmp_path / "again" / file.name).read_bytes() == file.read_bytes()
    assert good(bench("export", "run", "messages-hl7", "--json", by=(APPROVER,)))["new_rows"] == 0


def test_a_receiver_rejects_a_result_by_the_row_it_read_in_the_message(bench: Line, tmp_path: Path) -> None:
    file, delivery = run(bench, "messages-hl7")
    messages, results = read(file)
    assert messages[0].msh.msh_10.value == f"{delivery}-1"
    row_no = next(iter(results.values()))["row_no"].obx_5.value
    (tmp_path / "answer.csv").write_text(
        f"delivery_id,state,row_no,reason\n{delivery},rejected,{row_no},sample unknown\n", encoding="utf-8"
    )
    assert bench("export", "acknowledge", str(tmp_path / "answer.csv"), "--json", by=(ANALYST,)).code == 8
    held = good(bench("export", "list", "--held", "--json", by=(ANALYST,)))["held"]
    assert [(str(row["row_no"]), row["reason"]) for row in held] == [(row_no, "sample unknown")]


def test_a_result_without_a_code_stops_the_delivery_and_nothing_is_put_down(bench: Line, tmp_path: Path) -> None:
    without = "".join(one for one in PROFILE.splitlines(keepends=True) if "code: HG," not in one)
    approved(bench, tmp_path, "no-mercury", without.replace("id: messages-hl7", "id: no-mercury"))
    (tmp_path / "there").mkdir()
    for more in ((), ("--dry-run",)):
        said = bench("export", "run", "no-mercury", "--to", str(tmp_path / "there"), *more, by=(APPROVER,))
        refused(said, "export.hl7-unmapped")
        assert "Hg, content, total, as received, ug/g" in said.err
        assert "add it to codes" in said.err
    assert list((tmp_path / "there").iterdir()) == []
    loinc = PROFILE.replace("name: Lead, system: L,", "name: Lead, system: LN,")
    (tmp_path / "loinc.yaml").write_text(loinc, encoding="utf-8")
    refused(bench("export", "check", str(tmp_path / "loinc.yaml"), by=(ANALYST,)), "profile.hl7-product-missing")


def test_a_correction_and_a_withdrawal_say_so_in_their_status(bench: Line) -> None:
    run(bench, "messages-hl7")
    rows(bench)
    number = corrected(bench)
    draft = good(bench("certificate", "amend", number, "--reason", "a mass was wrong", "--json", by=(ANALYST,)))
    issued(bench, str(draft["number"]))
    due = rows(bench)
    assert {row["change_kind"] for row in due.values()} == {"corrected"}
    messages, results = read(run(bench, "messages-hl7")[0])
    assert set(results) == set(due)
    for result, row in due.items():
        held = results[result]
        assert held["value"].obx_11.value == "C"
        assert held["value"].obx_5.to_er7() == ("<^" if row["qualifier"] else "") + row["value_number"]
        assert held["revision"].obx_5.value == row["revision"] == "2"
    order = messages[0].oru_r01_patient_result.oru_r01_order_observation
    assert order.obr.obr_25.value == "C"
    reasons = {note.nte_3.value for one in order.oru_r01_observation for note in one.nte}
    assert {row["change_reason"] for row in due.values()} <= reasons

    gone = bench("certificate", "withdraw", number_of_latest(bench), "--reason", WHY, by=(APPROVER,))
    assert gone.code == 0, gone.err
    due = rows(bench)
    assert {row["change_kind"] for row in due.values()} == {"withdrawn"}
    file, _ = run(bench, "messages-hl7")
    _, results = read(file)
    assert set(results) == set(due)
    for held in results.values():
        assert (held["value"].obx_5.to_er7(), held["value"].obx_11.value) == ("", "W")
        assert (held["expanded_uncertainty"].obx_5.value or "", held["expanded_uncertainty"].obx_11.value) == ("", "W")
    assert WHY in file.read_bytes().decode("utf-8")


def number_of_latest(line: Line) -> str:
    return str(line.rows("SELECT max(number) FROM certificate WHERE lot = 'A-1' AND state = 'released'")[0][0])
