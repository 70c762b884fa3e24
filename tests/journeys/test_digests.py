"""Lead of the demo's plates by a method that says how long digests hold: accepted, refused, reminded. Invented."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.journeys import test_stored as lead_of_plates
from tests.journeys.test_demo import ANALYST, APPROVER
from tests.journeys.test_drift import lead, method
from tests.journeys.test_stored import file_of, section, sheet

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

MADE = date(2026, 11, 18)
LATER = (datetime.now(UTC).date() - MADE).days + 30  # days that are not over yet, whenever this runs


def in_force(line: Line, folder: Path, keep: str) -> Path:
    """Method, layout and sheet brought in; digests made up on 18 November at nine. The file, of the day after."""
    (sample,) = [
        str(one["sample"])
        for one in line("sample", "list", "--json", by=(ANALYST,)).json["samples"]
        if one["lot"] == "C-1"
    ]
    section_of = f"digests_keep: {{{keep}, source: 'house limit, invented'}}\n".encode() if keep else b""
    files = {
        "lead.yaml": method("4") + section_of,
        "layout.yaml": lead_of_plates.layout(),
        "v.csv": sheet(sample),
        "plates.txt": file_of(section("14.10.00", [*lead()])),
    }
    for name, data in files.items():
        (folder / name).write_bytes(data)
    for name, what in (("lead.yaml", "method/lead-flame-ware"), ("layout.yaml", "layout/semicolon-sections")):
        assert line("document", "add", str(folder / name), by=(ANALYST,)).code == 0
        assert line("document", "approve", what, by=(APPROVER,)).code == 0
    came = line("preparation", "add", str(folder / "v.csv"), by=(ANALYST,))
    assert came.code == 0, came
    return folder / "plates.txt"


@pytest.mark.parametrize(
    ("keep", "state", "words"),
    [
        (f"days: '{LATER}'", "hold", f"digests of batch WR-09: hold until {MADE + timedelta(days=LATER)} 23:59:59 ("),
        ("days: '1'", "past", "digests of batch WR-09: hold no longer, until 2026-11-19 23:59:59 ("),
        ("", "not_said", "digests of batch WR-09: the method does not say how long they hold"),
    ],
)
def test_check_and_list_say_until_when_digests_hold(
    line: Line, tmp_path: Path, keep: str, state: str, words: str
) -> None:
    path = in_force(line, tmp_path, keep)
    looked = line("run", "check", str(path), "--json", by=(ANALYST,)).json
    assert [one["state"] for one in looked["reread"][0]["digests"]] == [state]
    assert words in line("run", "check", str(path), by=(ANALYST,)).out
    came = line("ingest", str(path), by=(ANALYST,))
    assert came.code == 0, came
    again = line("run", "reread", "R-00008", "--json", by=(ANALYST,)).json
    assert [one["state"] for one in again["digests"]] == [state]
    actions = {one["action"] for one in again["again"] if one["needed"]}
    assert ("prepare_again" in actions) is (state == "past")
    assert ("read_again" in actions) is (state != "past")
    told = line("run", "reread", "R-00008", by=(ANALYST,)).out
    assert words in told
    assert again["open"] == sum(one["needed"] and not one["value_in"] for one in again["again"])


def test_a_run_of_digests_past_their_time_is_refused(line: Line, tmp_path: Path) -> None:
    path = in_force(line, tmp_path, "hours: '24'")
    looked = line("run", "check", str(path), "--json", by=(ANALYST,))
    assert looked.code == 4
    assert [one["code"] for one in looked.json["problems"]] == ["validate.digest-past"]
    refused = line("ingest", str(path), by=(ANALYST,))
    assert refused.code == 4
    assert "by lead-flame-ware digests hold 24 hours, this one until 2026-11-19 09:00:00" in refused.err
    assert line.rows("SELECT count(*) FROM run WHERE run = 'R-00008'") == [(0,)]


def test_a_plan_reminds_of_it(line: Line, tmp_path: Path) -> None:
    in_force(line, tmp_path, "days: '2'")
    (sample,) = line.rows("SELECT sample FROM sample WHERE lot = 'C-1'")[0]
    (tmp_path / "tray.csv").write_text(f"sample,volume_ml\n{sample},350\n")
    made = line("plan", "make", "--samples", str(tmp_path / "tray.csv"), "--method", "lead-flame-ware", by=(ANALYST,))
    assert made.code == 0, made
    words = "Digests for lead-flame-ware are read within 2 days after they were made up, the last day to its end"
    assert words in made.out
    plan = line("plan", "show", made.out.partition(":")[0], "--json", by=(ANALYST,))
    assert any(one.startswith(words) for one in plan.json["plan"]["reminders"]), plan.out
