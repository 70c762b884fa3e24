"""What a profile has not delivered, against a walk over everything that was ever released, entry by entry."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING, cast

import pytest
from tests.conftest import cheap_hashes
from tests.journeys.commands import ANALYST, APPROVER
from tests.journeys.test_after_release import WHY, corrected, delivered, issued, number_of
from tests.journeys.test_corrections import good

from benchseal.desk.delivery_plan import profile_in_force
from benchseal.desk.reading import load, read_signature
from benchseal.desk.revisions import Revisions
from benchseal.desk.site import open_site
from benchseal.desk.undelivered import Reached, undelivered
from benchseal.export.profiles import reaching
from benchseal.export.rows import released_rows, withdrawn_rows
from benchseal.records.entries import read_entry
from benchseal.records.evidence import Evidence
from benchseal.records.profile import Choose, Column, FileForm, Profile
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

    from benchseal.records.released import ReleasedRow
    from benchseal.store.protocol import Reading


def profile(**choose: tuple[str, ...]) -> Profile:
    file = FileForm("utf-8", ",", "needed", "lf", ".", header_line=True)
    return Profile("profile", "p", "P", file, "refuse", (Column("C", "change_kind"),), Choose(**choose))


def walked(view: Reading, wanted: Profile) -> list[ReleasedRow]:
    """Every revision there is, in order of the ledger, as ``wanted`` would be sent it if nothing was sent before."""
    by_entry: dict[int, list[dict[str, object]]] = {}
    for value in view.rows("released"):
        by_entry.setdefault(int(value["seq"]), []).append(value)
    last: dict[str, ReleasedRow] = {}
    holds: dict[str, ReleasedRow] = {}
    sent: list[ReleasedRow] = []
    for seq, values in sorted(by_entry.items()):
        number = str(values[0]["number"])
        row = view.row("certificate", number=number)
        assert row is not None
        own: list[ReleasedRow] = []
        gone = {str(value["result_id"]) for value in values if value["change_kind"] == "withdrawn"}
        if len(gone) < len(values):
            evidence = load(view, Evidence, row["evidence"])
            (release,) = view.rows("signature", digest=row["evidence"], meaning=Meaning.RELEASED.value)
            before = {name: int(one.revision) for name, one in last.items()}
            own += released_rows(evidence, read_signature(release), row["sealed"], before)
        reason = read_entry(next(view.entries(seq))[1]).reason
        why = reason or load(view, Evidence, row["content"]).certificate.reason
        own += withdrawn_rows([one for name, one in last.items() if name in gone], why)
        last.update({one.result_id: one for one in own})
        for one in own:
            reached = reaching(one, holds.pop(one.result_id, None), wanted)
            if reached is not None:
                holds[one.result_id] = reached
                sent.append(reached)
    return sent


PROFILES = {
    "everything": profile(),
    "one customer": profile(customers=("ardlea",)),
    "no customer": profile(customers=("nobody",)),
    "one method": profile(methods=("lead-furnace",)),
    "two methods": profile(methods=("lead-furnace", "zinc-flame")),
}


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the site that lived is kept for every test of it."""
    return tmp_path_factory.mktemp("lived") / "site"


@pytest.fixture
def lived(line: Line, once: Path) -> Line:
    """Corrected, amended, withdrawn, supplemented: whatever can happen to a released result."""
    if once.exists():
        shutil.rmtree(line.site)
        shutil.copytree(once, line.site)
        return line
    first = corrected(line)
    number = str(good(line("certificate", "amend", first, "--reason", WHY, "--json", by=(ANALYST,)))["number"])
    issued(line, number)
    good(line("certificate", "withdraw", number, "--reason", "another lot", "--json", by=(APPROVER,)))
    good(line("certificate", "withdraw", number_of(line, "B-1"), "--reason", "of another", "--json", by=(APPROVER,)))
    shutil.copytree(line.site, once)
    return line


def test_it_is_what_a_walk_over_everything_finds(lived: Line) -> None:
    site = open_site(lived.site, hashes=cheap_hashes)
    with site.store.reading() as view:
        customers = {str(row["customer"]) for row in view.rows("certificate")}
        methods = {str(row["method"]) for row in view.rows("run")}
        chosen = [profile(customers=(one,)) for one in customers] + [profile(methods=(one,)) for one in methods]
        seen = set()
        for wanted in (*PROFILES.values(), *chosen):
            expected = walked(view, wanted)
            found = undelivered(view, wanted, "0" * 64)
            assert list(found.rows) == expected
            assert list(found.places) == sorted(found.places)
            seen.add(len(expected))
        assert {row.change_kind for row in walked(view, profile())} == {"new", "corrected", "withdrawn"}
        assert len(seen) > 3  # the profiles do differ
    site.store.close()


@pytest.mark.parametrize("most", [1, 2, 3, 5, 100])
def test_taken_in_small_pieces_it_is_the_same(lived: Line, most: int) -> None:
    site = open_site(lived.site, hashes=cheap_hashes)
    with site.store.reading() as view:
        whole = walked(view, profile())
        found = undelivered(view, profile(), "0" * 64, most)
        ends = {row["seq"] for row in view.rows("released") if int(row["seq"]) <= found.considered}
        assert list(found.rows) == whole[: len(found.rows)]  # whole entries from the beginning on
        assert found.considered == max(found.places) == max(ends)
        assert len(found.rows) >= min(most, len(whole))
    site.store.close()


@pytest.mark.parametrize(("revision", "looked_at"), [("0001", False), ("0002", True)])
def test_a_later_revision_is_looked_at_whatever_measured_it(revision: str, *, looked_at: bool) -> None:
    """What it corrects may go out in the same delivery, under a method of the profile: then it is withdrawn."""

    class Other:
        """A certificate measured by no method of the profile, and nothing delivered yet."""

        def row(self, _: str, **__: str) -> dict[str, str]:
            return {"number": "1", "customer": "ardlea"}

        def rows(self, _: str, **__: str) -> list[dict[str, str]]:
            return []

    view = cast("Reading", Other())
    reached = Reached(view, profile(methods=("lead-furnace",)), Revisions(view))
    assert reached.concerns([{"number": "1", "result_id": "a", "revision": revision}]) is looked_at


def test_the_next_delivery_begins_behind_the_last_and_another_version_looks_again(lived: Line) -> None:
    sent = delivered(lived)
    assert sent
    site = open_site(lived.site, hashes=cheap_hashes)
    with site.store.reading() as view:
        wanted, ref = profile_in_force(view, "comma-utf8")
        last = max(int(one["seq"]) for one in view.rows("released"))
        found = undelivered(view, wanted, ref.digest)
        assert (found.rows, found.considered) == ((), last)
        again = undelivered(view, wanted, "0" * 64)  # another version of the profile with the same name
        assert (again.rows, again.considered) == ((), last)
    site.store.close()
