"""Typed values and a second person. All invented."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import APPROVER, FLAME, REVIEWER, TRACE, bring_in, do, rules
from tests.desk.test_accounts import refused
from tests.desk.test_instruments import whole
from tests.desk.test_training import stopped

from benchseal.desk.acts_confirmations import ConfirmPreparation, ConfirmStandard
from benchseal.desk.acts_corrections import CorrectPreparation
from benchseal.desk.acts_registers import AddPreparation
from benchseal.desk.acts_runs import AcceptRuns, SubmitRuns
from benchseal.desk.clock import stamp
from benchseal.desk.confirmations import Typed, rows_of_run, typed_portion, waiting_for_run
from benchseal.desk.correcting import plan
from benchseal.desk.corrections import wanted_by
from benchseal.desk.perform import perform
from benchseal.desk.reading import all_entries
from benchseal.desk.trail import changes
from benchseal.records.entries import Entry

if TYPE_CHECKING:
    from tests.conftest import Stage

HEAD = b"portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g\n"
SHEET = HEAD + f"Q-1,QQ-01,method_blank,,Zn,100.0,{TRACE},2026-01-10T09:00:00,1.0120\n".encode()


def of_run(stage: Stage, run: str) -> list[Typed]:
    with stage.site.store.reading() as view:
        row = view.row("run", run=run)
        assert row is not None
        return rows_of_run(view, row)


def waiting(stage: Stage, run: str) -> list[str]:
    with stage.site.store.reading() as view:
        row = view.row("run", run=run)
        assert row is not None
        return [one.name for one in waiting_for_run(view, row)]


def confirm(stage: Stage, run: str, by: str = REVIEWER) -> None:
    rows = [one for one in of_run(stage, run) if one.waits]
    portions = tuple(one.name for one in rows if one.subject.startswith("portion/"))
    lots = tuple(one.name for one in rows if one.subject.startswith("standard/"))
    if portions:
        do(stage, ConfirmPreparation(portions), by)
    if lots:
        do(stage, ConfirmStandard(lots), by)


def portion(stage: Stage, name: str) -> Typed:
    with stage.site.store.reading() as view:
        batch, _, label = name.partition("/")
        row = view.row("portion", batch=batch, portion=label)
        assert row is not None
        return typed_portion(view, row)


# ------------------------------------------------------------------ the gate


def test_without_rules_nothing_waits(stage: Stage) -> None:
    (run, *_) = bring_in(stage)
    assert waiting(stage, run) == []
    do(stage, SubmitRuns((run,)), FLAME)


@pytest.mark.refuses("A11 6")
def test_values_nobody_confirmed_block_submission_by_name(stage: Stage) -> None:
    rules(stage, "typed_values: second_person")
    (run, *_) = bring_in(stage)
    names = waiting(stage, run)
    assert names
    found = stopped(stage, SubmitRuns((run,)), FLAME)
    assert [code for code, _ in found] == ["typed.unconfirmed"] * len(names)
    for name, (_, words) in zip(names, found, strict=True):
        assert name in words
        assert FLAME in words  # who typed it, who therefore cannot


@pytest.mark.clause("A11 6")
def test_a_second_person_confirms_and_is_barred_from_nothing(stage: Stage) -> None:
    rules(stage, "typed_values: second_person")
    (run, *_) = bring_in(stage)
    confirm(stage, run)
    assert waiting(stage, run) == []
    do(stage, SubmitRuns((run,)), FLAME)
    do(stage, AcceptRuns((run,)), REVIEWER)  # the confirmer reviews: checking never bars
    assert whole(stage)


@pytest.mark.refuses("A11 6")
def test_nobody_confirms_their_own_typing_or_twice(stage: Stage) -> None:
    (run, *_) = bring_in(stage)
    name = next(one.name for one in of_run(stage, run) if one.subject.startswith("portion/"))
    lot = next(one.name for one in of_run(stage, run) if one.subject.startswith("standard/"))
    assert refused(lambda: do(stage, ConfirmPreparation((name,)), FLAME)) == "typed.own"
    assert refused(lambda: do(stage, ConfirmStandard((lot,)), FLAME)) == "typed.own"
    do(stage, ConfirmPreparation((name,)), TRACE)
    assert refused(lambda: do(stage, ConfirmPreparation((name,)), APPROVER)) == "typed.already"
    assert refused(lambda: do(stage, ConfirmPreparation(("nothing",)), APPROVER)) == "typed.unknown"
    assert refused(lambda: do(stage, ConfirmStandard(("nothing",)), APPROVER)) == "typed.unknown"


def test_all_or_none(stage: Stage) -> None:
    (run, *_) = bring_in(stage)
    names = [one.name for one in of_run(stage, run) if one.subject.startswith("portion/")]
    assert refused(lambda: do(stage, ConfirmPreparation((names[0], "nothing")), TRACE)) == "typed.unknown"
    assert portion(stage, names[0]).waits


@pytest.mark.refuses("A11 6")
def test_a_corrected_value_needs_confirmation_anew_by_nobody_who_typed_any_of_it(stage: Stage) -> None:
    do(stage, AddPreparation(SHEET, "sheet.csv"), FLAME)
    do(stage, ConfirmPreparation(("QQ-01/Q-1",)), TRACE)
    corrected(stage, "QQ-01/Q-1", "mass_g=1.0210", TRACE)
    again = portion(stage, "QQ-01/Q-1")
    assert again.waits
    assert again.by == {FLAME, TRACE}
    assert refused(lambda: do(stage, ConfirmPreparation(("QQ-01/Q-1",)), FLAME)) == "typed.own"
    assert refused(lambda: do(stage, ConfirmPreparation(("QQ-01/Q-1",)), TRACE)) == "typed.own"
    do(stage, ConfirmPreparation(("QQ-01/Q-1",)), REVIEWER)
    assert not portion(stage, "QQ-01/Q-1").waits


@pytest.mark.refuses("A11 6")
def test_a_run_with_a_value_corrected_after_its_confirmation_is_not_submitted(stage: Stage) -> None:
    rules(stage, "typed_values: second_person")
    (run, *_) = bring_in(stage)
    confirm(stage, run)
    assert waiting(stage, run) == []
    name = next(one.name for one in of_run(stage, run) if "area_dm2" in one.words)
    wrong = CorrectPreparation(name, ("area_dm2=2.71",), "two figures were exchanged", "")
    with stage.site.store.reading() as view:
        shown = plan(view, stage.site.ledger, stamp(stage.site.clock()), wanted_by(wrong))
    people = (FLAME, REVIEWER) if shown.effect.needs_consent else (FLAME,)
    perform(stage.site, replace(wrong, effect=shown.figures), *map(stage.key, people))
    assert waiting(stage, run) == [name]
    assert refused(lambda: do(stage, SubmitRuns((run,)), FLAME)) == "typed.unconfirmed"


# ------------------------------------------------------------------ what a confirmation covers


def corrected(stage: Stage, name: str, value: str, person: str) -> None:
    wrong = CorrectPreparation(name, (value,), "two figures were exchanged", "")
    with stage.site.store.reading() as view:
        shown = plan(view, stage.site.ledger, stamp(stage.site.clock()), wanted_by(wrong))
    do(stage, replace(wrong, effect=shown.figures), person)


@pytest.mark.refuses("A11 6")
def test_values_that_were_not_shown_wait_when_the_rules_ask_for_them(stage: Stage) -> None:
    ranges = ("typed_ranges:", "  - {quantity: area_dm2, low: '2', high: '3'}")
    rules(stage, "typed_values: second_person", *ranges)
    (run, *_) = bring_in(stage)
    confirm(stage, run)
    assert waiting(stage, run) == []
    rules(stage, "typed_values: second_person")
    found = {one.name: one for one in of_run(stage, run) if one.waits}
    assert found
    assert all(one.unseen_words.startswith("area_dm2 ") and ";" not in one.unseen_words for one in found.values())
    assert any(one.seen_words == "volume_ml 350" and one.confirmed_by == REVIEWER for one in found.values())
    refusals = stopped(stage, SubmitRuns((run,)), FLAME)
    assert {code for code, _ in refusals} == {"typed.unconfirmed"}
    assert all("area_dm2" in words and "volume_ml" not in words for _, words in refusals)
    do(stage, ConfirmPreparation(tuple(found)), TRACE)  # shown the whole row, and confirms it
    assert waiting(stage, run) == []
    assert {one.confirmed_by for one in of_run(stage, run) if one.name in found} == {TRACE}
    assert refused(lambda: do(stage, ConfirmPreparation((next(iter(found)),)), APPROVER)) == "typed.already"
    rules(stage, "typed_values: second_person", *ranges)
    assert waiting(stage, run) == []  # fewer values than were shown
    do(stage, SubmitRuns((run,)), FLAME)
    assert whole(stage)


def test_a_standard_s_value_that_was_not_shown_waits_too(stage: Stage) -> None:
    rules(stage, "typed_ranges:", "  - {quantity: standard_value, low: '1', high: '100000'}")
    (run, *_) = bring_in(stage)
    lot = next(one for one in of_run(stage, run) if one.subject.startswith("standard/"))
    do(stage, ConfirmStandard((lot.name,)), REVIEWER)
    rules(stage, "typed_values: second_person")
    again = next(one for one in of_run(stage, run) if one.name == lot.name)
    assert again.unseen_words.startswith("value ")
    assert again.seen_words.startswith("u_percent ")


@pytest.mark.refuses("A11 6")
def test_a_value_corrected_and_put_back_waits_again_for_somebody_who_typed_none_of_it(stage: Stage) -> None:
    do(stage, AddPreparation(SHEET, "sheet.csv"), FLAME)
    do(stage, ConfirmPreparation(("QQ-01/Q-1",)), TRACE)
    before = portion(stage, "QQ-01/Q-1").record
    corrected(stage, "QQ-01/Q-1", "mass_g=1.0210", TRACE)
    corrected(stage, "QQ-01/Q-1", "mass_g=1.0120", TRACE)
    again = portion(stage, "QQ-01/Q-1")
    assert again.record == before  # the very row that was confirmed
    assert again.waits
    assert not again.confirmed_by
    assert refused(lambda: do(stage, ConfirmPreparation(("QQ-01/Q-1",)), TRACE)) == "typed.own"
    do(stage, ConfirmPreparation(("QQ-01/Q-1",)), REVIEWER)
    assert portion(stage, "QQ-01/Q-1").confirmed_by == REVIEWER
    assert whole(stage)


@pytest.mark.refuses("A11 6")
def test_a_balance_s_mass_corrected_by_hand_and_back_is_confirmed_by_who_was_shown_it(stage: Stage) -> None:
    balance = b"portion,mass_g\nQ-1,1.0120\n"
    do(stage, AddPreparation(SHEET, "sheet.csv", balance=balance, balance_source="b.csv"), FLAME)
    do(stage, ConfirmPreparation(("QQ-01/Q-1",)), TRACE)
    corrected(stage, "QQ-01/Q-1", "mass_g=1.0121", FLAME)
    corrected(stage, "QQ-01/Q-1", "mass_g=1.0120", FLAME)
    assert portion(stage, "QQ-01/Q-1").unseen_words == "mass_g 1.0120; volume_ml 100.0"
    do(stage, ConfirmPreparation(("QQ-01/Q-1",)), REVIEWER)
    assert portion(stage, "QQ-01/Q-1").seen_words == "mass_g 1.0120; volume_ml 100.0"
    with stage.site.store.reading() as view:
        entries = [one for one in all_entries(view) if one.subject == "portion/QQ-01/Q-1"]
        told = changes(view, entries)
    shown = [told[one.seq] for one in entries if one.kind == "preparation.confirmed"]
    assert shown == [["confirmed: volume_ml 100.0"], ["confirmed: mass_g 1.0120", "confirmed: volume_ml 100.0"]]


def test_a_confirmation_of_before_values_were_named_covers_its_row(stage: Stage) -> None:
    do(stage, AddPreparation(SHEET, "sheet.csv"), FLAME)
    record = portion(stage, "QQ-01/Q-1").record
    with stage.site.store.writing() as tx:
        at = stamp(stage.site.clock())
        digests = {"record": record}
        tx.append(Entry(tx.size() + 1, "preparation.confirmed", at, TRACE, "portion/QQ-01/Q-1", digests=digests))
    old = portion(stage, "QQ-01/Q-1")
    assert (old.waits, old.confirmed_by) == (False, TRACE)
    assert old.seen_words == "mass_g 1.0120; volume_ml 100.0"


# ------------------------------------------------------------------ what counts as typed


def test_a_mass_of_the_balance_s_file_is_not_typed_and_another_one_is_refused(stage: Stage) -> None:
    balance = b"portion,mass_g,weighed_at\nQ-1,1.0120,2026-01-10T08:50:00\n"
    wrong = AddPreparation(SHEET, "sheet.csv", balance=balance.replace(b"1.0120", b"1.0210"), balance_source="b.csv")
    assert refused(lambda: do(stage, wrong, FLAME)) == "balance.differs"
    do(stage, AddPreparation(SHEET, "sheet.csv", balance=balance, balance_source="b.csv"), FLAME)
    assert [one.name for one in portion(stage, "QQ-01/Q-1").values] == ["volume_ml"]
    assert whole(stage)


def test_a_row_with_nothing_typed_left_is_not_confirmed(stage: Stage) -> None:
    rules(
        stage,
        "typed_values: second_person",
        "typed_ranges:",
        "  - {quantity: mass_g, low: '0.5', high: '2'}",
        "  - {quantity: volume_ml, low: '50', high: '250'}",
    )
    do(stage, AddPreparation(SHEET, "sheet.csv"), FLAME)
    assert not portion(stage, "QQ-01/Q-1").waits
    assert refused(lambda: do(stage, ConfirmPreparation(("Q-1",)), TRACE)) == "typed.nothing"


def test_a_label_of_several_batches_needs_its_batch(stage: Stage) -> None:
    do(stage, AddPreparation(SHEET, "sheet.csv"), FLAME)
    do(stage, AddPreparation(SHEET.replace(b"QQ-01", b"QQ-02"), "sheet.csv"), FLAME)
    assert refused(lambda: do(stage, ConfirmPreparation(("Q-1",)), TRACE)) == "typed.several"
    do(stage, ConfirmPreparation(("QQ-02/Q-1",)), TRACE)
