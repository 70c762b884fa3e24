"""A witness on another machine: it keeps what it saw, refuses a second history, and its word checks the site."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from benchseal.desk import checkpoints
from benchseal.desk.acts_people import UnlockPerson
from benchseal.desk.checking import verify_site
from benchseal.desk.key_records import tree_periods
from benchseal.ledger.checkpoints import read_checkpoint
from benchseal.ledger.witness import Growth, check_seen
from benchseal.problems import Stopped
from benchseal.upkeep.witnessing import witness

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Bench

    from benchseal.ledger.key_history import KeyPeriod


def keys(bench: Bench) -> tuple[KeyPeriod, ...]:
    with bench.site.store.reading() as view:
        return tree_periods(view)


def growth(bench: Bench, since: int) -> Growth:
    return checkpoints.growth(bench.site, checkpoints.make(bench.site), since)


def refused(bench: Bench, state: Path, shown: Growth, **keys_of: tuple[KeyPeriod, ...]) -> str:
    with pytest.raises(Stopped) as found:
        witness(state, shown, keys_of.get("trusted", keys(bench)), bench.clock)
    return found.value.notices[0].code


@pytest.mark.clause("P11 11.10")
def test_growth_is_countersigned_step_by_step(bench: Bench, tmp_path: Path) -> None:
    first, public = witness(tmp_path / "w", growth(bench, 0), keys(bench), bench.clock)
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    second, again = witness(tmp_path / "w", growth(bench, first.checkpoint.size), keys(bench), bench.clock)
    assert second.checkpoint.size == first.checkpoint.size + 1
    assert again == public
    assert check_seen(second, public) is None
    assert verify_site(bench.site, [first.checkpoint, second.checkpoint]).findings == ()


@pytest.mark.refuses("P11 11.10")
def test_an_old_copy_put_back_is_refused_and_both_heads_are_kept(bench: Bench, tmp_path: Path) -> None:
    before = growth(bench, 0)
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    witness(tmp_path / "w", growth(bench, 0), keys(bench), bench.clock)
    assert refused(bench, tmp_path / "w", before) == "integrity.checkpoint-smaller"
    kept = sorted(path.name for path in (tmp_path / "w").glob("*.json"))
    assert len(kept) == 2
    assert kept[1].startswith(f"{bench.site.ledger}.refused-1-")
    last = read_checkpoint((tmp_path / "w" / f"{bench.site.ledger}.json").read_bytes())
    assert not isinstance(last, tuple)
    assert last.size == 2


def test_a_proof_from_the_wrong_size_is_no_evidence_of_anything(bench: Bench, tmp_path: Path) -> None:
    witness(tmp_path / "w", growth(bench, 0), keys(bench), bench.clock)
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")
    assert refused(bench, tmp_path / "w", growth(bench, 0)) == "witness.since"
    assert len(list((tmp_path / "w").glob("*.json"))) == 1


def test_a_head_whose_key_the_laboratory_never_handed_out_is_refused(bench: Bench, tmp_path: Path) -> None:
    assert refused(bench, tmp_path / "w", growth(bench, 0), trusted=()) == "witness.ledger"
    assert not (tmp_path / "w").exists()


def test_a_proof_from_a_size_the_ledger_never_had_is_refused(bench: Bench) -> None:
    with pytest.raises(Stopped) as found:
        growth(bench, 99)
    assert found.value.notices[0].code == "checkpoint.since"


@pytest.mark.skipif(os.name == "nt", reason="rights of this kind are POSIX")
def test_the_witness_s_key_is_its_own(bench: Bench, tmp_path: Path) -> None:
    witness(tmp_path / "w", growth(bench, 0), keys(bench), bench.clock)
    assert (tmp_path / "w" / "witness.key").stat().st_mode & 0o077 == 0


def test_a_state_that_was_damaged_is_said(bench: Bench, tmp_path: Path) -> None:
    witness(tmp_path / "w", growth(bench, 0), keys(bench), bench.clock)
    (tmp_path / "w" / f"{bench.site.ledger}.json").write_text("{}")
    assert refused(bench, tmp_path / "w", growth(bench, 0)) == "checkpoint.unreadable"
