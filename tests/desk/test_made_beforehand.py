"""A new key is made while others write: the lock is taken once it is there, and for nobody who may not rotate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.conftest import cheap_hashes

from benchseal.desk import keys
from benchseal.desk.acting import Acting
from benchseal.desk.acts import ACTS
from benchseal.desk.acts_keys import RotateKey
from benchseal.desk.acts_people import DisablePerson, UnlockPerson
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.rotation import finish
from benchseal.desk.site import open_site
from benchseal.identity.keys import new_seal_rsa3072
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from collections.abc import Callable

    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey
    from tests.conftest import Bench

WHY = "once a year"


def while_made(monkeypatch: pytest.MonkeyPatch, deed: Callable[[], None]) -> list[str]:
    """Let ``deed`` happen in the midst of making an RSA key; how often one was made."""
    seen: list[str] = []

    def slow() -> RSAPrivateKey:
        seen.append("made")
        deed()
        return made()

    made = new_seal_rsa3072
    monkeypatch.setattr(keys, "new_seal_rsa3072", slow)
    return seen


def in_force(bench: Bench, key: str = "seal") -> str:
    with bench.site.store.reading() as view:
        row = view.row("site", ledger=bench.site.ledger)
    assert row is not None
    return str(row[f"{key}_key_id"])


@pytest.mark.clause("P11 11.300(c)")
def test_another_writer_is_not_held_up_while_a_key_is_made(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second program writes in the midst of it, and would be refused at once if the lock were held."""
    monkeypatch.setattr("benchseal.store.sqlite.QUEUE_SECONDS", 0)
    other = open_site(bench.site.folder, clock=bench.clock, hashes=cheap_hashes)

    def write() -> None:
        perform(other, UnlockPerson("p-ana.keel", "she asked"), bench.key("emil"))

    seen, before, old = while_made(monkeypatch, write), bench.entries(), in_force(bench)
    done = bench.do(RotateKey("seal", WHY), "emil", "cleo")
    finish(bench.site)
    other.store.close()
    assert seen == ["made"]
    assert bench.entries() == before + 3
    assert done.data["entry"] == before + 3
    assert in_force(bench) != old
    assert verify_site(bench.site).findings == ()


def test_a_writer_that_holds_the_lock_is_noticed_by_this_test(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the test above rests on: with the lock held, the second program is refused."""
    monkeypatch.setattr("benchseal.store.sqlite.QUEUE_SECONDS", 0)
    other = open_site(bench.site.folder, clock=bench.clock, hashes=cheap_hashes)
    with bench.site.store.writing(), pytest.raises(Stopped) as found:
        perform(other, UnlockPerson("p-ana.keel", "she asked"), bench.key("emil"))
    other.store.close()
    assert found.value.notices[0].code == "store.busy"


def test_two_rotations_at_once_hand_over_one_after_the_other(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second begins and ends while the first makes its key: the first then hands over from the second's key."""
    other = open_site(bench.site.folder, clock=bench.clock, hashes=cheap_hashes)
    once: list[str] = []

    def rotate() -> None:
        if not once:
            once.append("begun")
            perform(other, RotateKey("seal", WHY), bench.key("emil"), bench.key("cleo"))
            finish(other)
            once.append(in_force(bench))

    seen = while_made(monkeypatch, rotate)
    done = bench.do(RotateKey("seal", WHY), "emil", "cleo")
    finish(bench.site)
    other.store.close()
    assert seen == ["made", "made"]
    assert done.data["old"] == once[1]
    assert in_force(bench) == done.data["new"] != once[1]
    assert verify_site(bench.site).findings == ()
    assert len(list(bench.site.private.glob("*.key.json"))) == 2


@pytest.mark.parametrize(
    ("names", "act", "code"),
    [
        (("ana", "cleo"), RotateKey("seal", WHY), "act.role"),
        (("emil", "ben"), RotateKey("seal", WHY), "act.role"),
        (("emil", "cleo"), RotateKey("stamp", WHY), "keys.which"),
    ],
)
def test_no_key_is_made_for_who_may_not(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, names: tuple[str, str], act: RotateKey, code: str
) -> None:
    seen = while_made(monkeypatch, lambda: None)
    with pytest.raises(Stopped) as found:
        bench.do(act, *names)
    assert found.value.notices[0].code == code
    assert seen == []
    assert len(list(bench.site.private.glob("*.key.json"))) == 2


def test_a_role_taken_away_meanwhile_counts(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever could rotate when the key was begun is asked again under the lock; the key goes nowhere."""
    other = open_site(bench.site.folder, clock=bench.clock, hashes=cheap_hashes)
    old = in_force(bench)

    def disable() -> None:
        perform(other, DisablePerson("p-cleo.strand", "she left"), bench.key("emil"))

    while_made(monkeypatch, disable)
    with pytest.raises(Stopped) as found:
        bench.do(RotateKey("seal", WHY), "emil", "cleo")
    other.store.close()
    assert found.value.notices[0].code == "act.not-active"
    assert in_force(bench) == old
    assert len(list(bench.site.private.glob("*.key.json"))) == 2


def test_only_keys_are_made_or_opened_beforehand() -> None:
    """What is made before the lock must not rest on what the store says: acts that do so are named here.

    The key that ``export run`` opens is compared with the one in force once the lock is there. ``export close`` and
    ``export move`` look at a folder, which may be slow, and take their delivery from the store again. A template of
    certificates is tried on papers before it comes in or into force.
    """
    commands = sorted(row.command for row in ACTS.values() if row.beforehand)
    documents = ["document add", "document approve"]
    of_keys = ["key import", "key rotate", "key token"]
    assert commands == [*documents, "export close", "export move", "export run", *of_keys]
    assert Acting.__dataclass_fields__["made"].default is None
