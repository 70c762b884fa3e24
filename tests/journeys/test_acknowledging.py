"""What receivers say of deliveries: on record, rows held until somebody acts, silence reported."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, cast

import pytest
from tests.conftest import cheap_hashes
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER
from tests.journeys.test_beside import PROFILE
from tests.journeys.test_corrections import good, refused, whole

from benchseal.desk import acknowledging
from benchseal.desk.site import open_site
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

    from benchseal.store.protocol import Reading


@pytest.fixture
def sent(line: Line, tmp_path: Path) -> str:
    """A delivery whose receiver has a day to answer."""
    text = PROFILE + "acknowledge: {within_hours: 24}\n"
    (tmp_path / "whole.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "whole.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/whole", "--json", by=(APPROVER,)))
    said = good(line("export", "run", "whole", "--json", by=(APPROVER,)))
    return str(said["deliveries"][0]["delivery"])


def answer(line: Line, tmp_path: Path, text: str, *, code: int = 0, by: str = ANALYST) -> dict[str, Any]:
    (tmp_path / "answer.txt").write_text(text, encoding="utf-8")
    done = line("export", "acknowledge", str(tmp_path / "answer.txt"), "--json", by=(by,))
    assert done.code == code, done
    return dict(json.loads(done.out))


def lines(delivery: str, *rows: str) -> str:
    return "".join(f"{line}\n" for line in ("delivery_id,state,row_no,reason", *(f"{delivery},{row}" for row in rows)))


def state(line: Line, delivery: str) -> str:
    return str(line.rows(f"SELECT state FROM delivery WHERE delivery_id = '{delivery}'")[0][0])  # noqa: S608


def held(line: Line) -> list[tuple[str, str]]:
    found = good(line("export", "list", "--held", "--json", by=(ANALYST,)))["held"]
    return [(str(row["row_no"]), str(row["reason"])) for row in found]


def test_a_delivery_that_is_taken(line: Line, sent: str, tmp_path: Path) -> None:
    assert answer(line, tmp_path, lines(sent, "accepted,,"))["state"] == "accepted"
    assert state(line, sent) == "accepted"
    assert "already on record" in answer(line, tmp_path, lines(sent, "accepted,,"))["said"][0]  # the same file again
    assert answer(line, tmp_path, lines(sent, "rejected,,x"), code=5)["problems"][0]["code"] == "delivery.wrong-state"
    assert state(line, sent) == "accepted"
    assert whole(line)


def test_rows_that_are_not_taken_are_held_until_somebody_acts(line: Line, sent: str, tmp_path: Path) -> None:
    said = answer(line, tmp_path, lines(sent, "rejected,2,sample unknown", "rejected,1,no unit"), code=8)
    assert (said["state"], said["rejected"]) == ("partly accepted", 2)
    assert held(line) == [("1", "no unit"), ("2", "sample unknown")]
    again = line("export", "run", "whole", "--json", by=(APPROVER,))
    assert again.code == 8
    told = json.loads(again.out)
    assert (told["new_rows"], told["deliveries"]) == (0, [])  # never sent again by itself
    assert [one["code"] for one in told["problems"]] == ["delivery.acknowledgement-rejected"]
    assert "2 rows" in told["problems"][0]["what"]
    good(line("export", "settle", sent, "--row", "1", "--reason", "entered there by hand", "--json", by=(ANALYST,)))
    assert held(line) == [("2", "sample unknown")]
    refused(line("export", "settle", sent, "--row", "1", "--reason", "again", by=(ANALYST,)), "delivery.row-not-held")
    refused(line("export", "settle", sent, "--row", "2", "--reason", " ", by=(ANALYST,)), "act.reason")
    good(line("export", "settle", sent, "--reason", "sample registered there", "--json", by=(APPROVER,)))
    assert held(line) == []
    assert line("export", "run", "whole", by=(APPROVER,)).code == 0
    refused(line("export", "settle", sent, "--reason", "once more", by=(APPROVER,)), "delivery.row-not-held")
    row = line.rows("SELECT settled_by, settled_why FROM delivery_hold ORDER BY row_no")
    assert row == [("p-maren.holt", "entered there by hand"), ("p-ruth.calloway", "sample registered there")]
    assert whole(line)


def test_held_rows_of_one_receiver_are_no_alarm_of_another(line: Line, sent: str, tmp_path: Path) -> None:
    text = PROFILE.replace("id: whole", "id: other")
    assert text != PROFILE
    (tmp_path / "other.yaml").write_text(text, encoding="utf-8")
    good(line("document", "add", str(tmp_path / "other.yaml"), "--json", by=(ANALYST,)))
    good(line("document", "approve", "profile/other", "--json", by=(APPROVER,)))
    answer(line, tmp_path, lines(sent, "rejected,1,no unit"), code=8)
    assert line("export", "run", "other", by=(APPROVER,)).code == 0
    assert line("export", "run", "other", "--dry-run", by=(APPROVER,)).code == 0
    assert line("export", "run", "whole", by=(APPROVER,)).code == 8
    assert line("export", "run", "whole", "--dry-run", by=(APPROVER,)).code == 8
    told = json.loads(line("doctor", "--json", by=(ANALYST,)).out)["problems"]
    assert "delivery.acknowledgement-rejected" in {one["code"] for one in told}


def test_a_later_answer_frees_what_it_does_not_name(line: Line, sent: str, tmp_path: Path) -> None:
    answer(line, tmp_path, lines(sent, "rejected,,closed for the year"), code=8)
    total = int(line.rows(f"SELECT rows FROM delivery WHERE delivery_id = '{sent}'")[0][0])  # noqa: S608
    assert len(held(line)) == total
    assert {reason for _, reason in held(line)} == {"closed for the year"}
    answer(line, tmp_path, lines(sent, "rejected,1,no unit"), code=8)
    assert held(line) == [("1", "no unit")]
    answer(line, tmp_path, lines(sent, "accepted,,"))
    assert held(line) == []
    assert state(line, sent) == "accepted"
    assert whole(line)


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        (("rejected,99,x",), "acknowledgement.row-unknown"),
        (("perhaps,,",), "documents.value-unknown"),
    ],
)
def test_an_answer_that_does_not_fit_changes_nothing(
    line: Line, sent: str, tmp_path: Path, rows: tuple[str, ...], code: str
) -> None:
    before = line.kept()
    said = answer(line, tmp_path, lines(sent, *rows), code=4)
    assert [one["code"] for one in said["problems"]] == [code]
    assert (line.kept(), state(line, sent)) == (before, "done")


def test_partly_cannot_mean_every_row(line: Line, sent: str, tmp_path: Path) -> None:
    total = int(line.rows(f"SELECT rows FROM delivery WHERE delivery_id = '{sent}'")[0][0])  # noqa: S608
    every = [f"rejected,{number},x" for number in range(1, total + 1)]
    assert answer(line, tmp_path, lines(sent, *every), code=4)["problems"][0]["code"] == "acknowledgement.row-unknown"


def test_unknown_deliveries_and_people_without_the_role(line: Line, sent: str, tmp_path: Path) -> None:
    assert answer(line, tmp_path, lines("D-77777", "accepted,,"), code=5)["problems"][0]["code"] == "delivery.unknown"
    assert answer(line, tmp_path, lines(sent, "accepted,,"), code=5, by=REVIEWER)["problems"][0]["code"] == "act.role"
    assert line("export", "acknowledge", str(tmp_path / "none.json"), by=(ANALYST,)).code == 4


@pytest.mark.parametrize(("hours", "words"), [(1, "; 1 hour was agreed."), (2, "; 2 hours were agreed.")])
def test_one_hour_is_told_as_one(hours: int, words: str) -> None:
    class Held:
        def rows(self, _: str, **__: object) -> list[dict[str, object]]:
            return [{"delivery_id": "D-00001", "done_at": "2026-03-02T08:00:00.000Z", "answer_hours": hours}]

    (found,) = acknowledging.late(cast("Reading", Held()), datetime(2026, 3, 3, tzinfo=UTC))
    assert found.what.endswith(words)


def test_silence_is_reported_after_the_agreed_hours(line: Line, sent: str, tmp_path: Path) -> None:
    site = open_site(line.site, hashes=cheap_hashes)
    with site.store.reading() as view:
        now = site.clock()
        assert [*acknowledging.late(view, now + timedelta(hours=23))] == []
        (found,) = acknowledging.late(view, now + timedelta(hours=25))
        assert (found.code, found.where) == ("delivery.acknowledgement-late", sent)
        assert "24 hours were agreed." in found.what
    assert not [one for one in examine(site) if one.code.startswith("delivery.")]
    site.store.close()
    answer(line, tmp_path, lines(sent, "accepted,,"))
    site = open_site(line.site, hashes=cheap_hashes)
    with site.store.reading() as view:
        assert [*acknowledging.late(view, site.clock() + timedelta(days=9))] == []
    site.store.close()


def test_one_row_is_one_row(line: Line, sent: str, tmp_path: Path) -> None:
    (tmp_path / "one.csv").write_text(lines(sent, "rejected,1,unknown"), encoding="utf-8")
    said = line("export", "acknowledge", str(tmp_path / "one.csv"), by=(ANALYST,))
    assert "1 row is held." in said.out
    assert "1 row is held." in line("export", "run", "whole", by=(APPROVER,)).err


def as_json(delivery: str, state: str, *rows: tuple[int, str], reason: str = "") -> str:
    named = [{"row_no": number, "reason": why} for number, why in rows]
    return json.dumps({
        "schema": "acknowledgement/1", "delivery_id": delivery, "state": state, "reason": reason, "rejected": named
    })  # fmt: skip


@pytest.mark.parametrize("form", ["JSON", "text"])
def test_a_delivery_rejected_as_a_whole_holds_the_rows_it_does_not_name_too(
    line: Line, sent: str, tmp_path: Path, form: str
) -> None:
    total = int(line.rows(f"SELECT rows FROM delivery WHERE delivery_id = '{sent}'")[0][0])  # noqa: S608
    assert total > 2
    text = (
        as_json(sent, "rejected", (2, "sample unknown"), reason="whole file refused")
        if form == "JSON"
        else lines(sent, "rejected,,whole file refused", "rejected,2,sample unknown")
    )
    said = answer(line, tmp_path, text, code=8)
    assert (said["state"], said["rejected"]) == ("rejected", total)
    found = dict(held(line))
    assert found.pop("2") == "sample unknown"
    assert [*found.values()] == ["whole file refused"] * (total - 1)
    assert whole(line)


def test_the_same_answer_in_another_form_is_on_record(line: Line, sent: str, tmp_path: Path) -> None:
    answer(line, tmp_path, lines(sent, "rejected,1,no unit"), code=8)
    good(line("export", "settle", sent, "--row", "1", "--reason", "entered there", "--json", by=(ANALYST,)))
    said = answer(line, tmp_path, as_json(sent, "partly", (1, "no unit")))
    assert "already on record" in said["said"][0]
    assert held(line) == []  # what a person settled is not held again
    answer(line, tmp_path, as_json(sent, "partly", (1, "no unit"), (2, "no unit")), code=8)
    answer(line, tmp_path, lines(sent, "accepted,,"))
    before = line.kept()
    assert "already on record" in answer(line, tmp_path, as_json(sent, "accepted"))["said"][0]
    assert "already on record" in answer(line, tmp_path, as_json(sent, "accepted", reason="thank you"))["said"][0]
    assert line.kept() == before
    again = answer(line, tmp_path, as_json(sent, "partly", (1, "no unit")), code=5)
    assert again["problems"][0]["code"] == "delivery.wrong-state"
    assert whole(line)
