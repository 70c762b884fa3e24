"""Typed values confirmed by a second person: who typed them, who confirmed them, and what still waits.

A confirmation is of one version of a row and of the values that were shown: a correction needs one anew, also one that
puts an earlier value back, and so does a value the rules did not ask for then. The last one counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from benchseal.desk.acting import Receipt
from benchseal.desk.reading import load
from benchseal.desk.site_rules import rules_in_force
from benchseal.desk.weighed import masses_of
from benchseal.problems import Refusal, Stopped
from benchseal.records.entries import read_entry
from benchseal.records.preparation import Portion
from benchseal.records.registers import StandardLot
from benchseal.records.run import Run
from benchseal.review.typed import typed_in_lot, typed_in_portion

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_confirmations import ConfirmPreparation, ConfirmStandard
    from benchseal.records.canonical import Digest, Json
    from benchseal.records.entries import Entry
    from benchseal.review.typed import TypedValue
    from benchseal.store.protocol import Reading, Row


@dataclass(frozen=True, slots=True)
class Typed:
    """One row with its typed values. by: who typed them, over all versions; confirmed_by is empty while none did.

    unseen: those of the values nobody but their typist was shown; all of them while nobody confirmed.
    """

    subject: str
    name: str
    record: Digest
    values: tuple[TypedValue, ...]
    by: frozenset[str]
    confirmed_by: str
    confirmed_at: str
    unseen: tuple[TypedValue, ...]

    @property
    def waits(self) -> bool:
        """Whether a second person still has to look."""
        return bool(self.unseen)

    @property
    def words(self) -> str:
        """The values in one line."""
        return "; ".join(map(str, self.values))

    @property
    def seen_words(self) -> str:
        """Those somebody confirmed."""
        return "; ".join(str(value) for value in self.values if value not in self.unseen)

    @property
    def unseen_words(self) -> str:
        """Those that wait."""
        return "; ".join(map(str, self.unseen))


def confirm_preparation(acting: Acting, act: ConfirmPreparation) -> Receipt:
    """Confirm preparation rows, all or none."""
    found = [typed_portion(acting.tx, portion_row(acting.tx, name)) for name in dict.fromkeys(act.rows)]
    return _confirm(acting, found, "preparation")


def confirm_standard(acting: Acting, act: ConfirmStandard) -> Receipt:
    """Confirm standard lots, all or none."""
    found = []
    for lot in dict.fromkeys(act.lots):
        row = acting.tx.row("standard_lot", lot=lot)
        if row is None:
            what = "no standard lot of this name is registered."
            raise Stopped(Refusal("typed.unknown", lot, what, "See `benchseal standard list`."))
        found.append(typed_lot(acting.tx, row))
    return _confirm(acting, found, "standard_lot")


def _confirm(acting: Acting, found: Sequence[Typed], kind: str) -> Receipt:
    person = acting.first.person
    refusals = []
    for one in found:
        if person in one.by:
            what = f"{person} typed its values."
            refusals.append(Refusal("typed.own", one.name, what, "A second person has to confirm them."))
        elif one.confirmed_by and not one.waits:
            what = f"{one.confirmed_by} confirmed it at {one.confirmed_at}."
            refusals.append(Refusal("typed.already", one.name, what, "Nothing needs to be done."))
        elif not one.values:
            what = "nothing in it was typed that a second person has to see."
            refusals.append(Refusal("typed.nothing", one.name, what, "Nothing needs to be done."))
    if refusals:
        raise Stopped(*refusals)
    for one in found:
        shown: list[Json] = [str(value) for value in one.values]
        acting.write(f"{kind}.confirmed", one.subject, facts={"values": shown}, digests={"record": one.record})
    said = [f"{one.name} is confirmed: {one.words}" for one in found]
    return Receipt(tuple(said), {"confirmed": [one.name for one in found]})


def waiting_for_run(view: Reading, row: Row) -> list[Typed]:
    """Rows a run rests on whose typed values nobody has confirmed, where the rules of the site want a second person."""
    if rules_in_force(view).typed_values != "second_person":
        return []
    return [one for one in rows_of_run(view, row) if one.waits]


def rows_of_run(view: Reading, row: Row) -> list[Typed]:
    """Every preparation row and standard lot a run rests on."""
    portions = [
        view.row("portion", batch=each["batch"], portion=each["portion"])
        for each in view.rows("run_portion", run=row["run"])
    ]
    lots = [view.row("standard_lot", lot=lot) for lot in load(view, Run, row["bound"]).standard_lots]
    found = [typed_portion(view, each) for each in portions if each is not None]
    return [*found, *(typed_lot(view, each) for each in lots if each is not None)]


def typed_refusals(view: Reading, row: Row) -> Iterator[Refusal]:
    """Why a run cannot be submitted yet: values nobody but their typist has seen."""
    for one in waiting_for_run(view, row):
        verb = "standard" if one.subject.startswith("standard/") else "preparation"
        what = f"{one.name}: {one.unseen_words}, typed by {_listed(one.by)}, was not confirmed by a second person."
        remedy = f"Anybody but {_listed(one.by)} compares it with the original: `benchseal {verb} confirm`."
        yield Refusal("typed.unconfirmed", f"run {row['run']}", what, remedy)


def typed_portion(view: Reading, row: Row) -> Typed:
    """A preparation row as its typed values."""
    portion = load(view, Portion, row["record"])
    entry = _entry(view, row)
    weighed = portion.portion in _masses(view, entry)
    values = typed_in_portion(portion, rules_in_force(view).typed_ranges, weighed_by_file=weighed)
    name = f"{portion.batch}/{portion.portion}"
    return _typed(view, f"portion/{name}", name, row, values, entry)


def typed_lot(view: Reading, row: Row) -> Typed:
    """A standard lot as its typed values."""
    values = typed_in_lot(load(view, StandardLot, row["record"]), rules_in_force(view).typed_ranges)
    return _typed(view, f"standard/{row['lot']}", str(row["lot"]), row, values, _entry(view, row))


def _typed(  # noqa: PLR0913, PLR0917  the parts of one row
    view: Reading, subject: str, name: str, row: Row, values: tuple[TypedValue, ...], entry: Entry
) -> Typed:
    by, at, unseen = "", "", values
    seen = view.row("confirmation", subject=subject, record=row["record"])
    if seen and int(seen["seq"]) > int(row["seq"]):  # else it is of the same values before they were corrected and back
        by, at = seen["person"], seen["at"]
        unseen = _unseen(read_entry(next(iter(view.entries(int(seen["seq"]))))[1]), values)
    return Typed(subject, name, row["record"], values, frozenset(_typists(view, subject, entry)), by, at, unseen)


def _unseen(confirmed: Entry, values: tuple[TypedValue, ...]) -> tuple[TypedValue, ...]:
    """Values that were not among those shown. Confirmations that do not say what they showed count for all."""
    if "values" not in confirmed.facts:
        return ()
    shown = cast("Sequence[str]", confirmed.facts["values"])
    return tuple(value for value in values if str(value) not in shown)


def portion_row(view: Reading, name: str) -> Row:
    """The row of ``BATCH/PORTION``, or of a label alone. Raises Stopped where there is none, or several."""
    rows = [row for row in view.rows("portion") if name in {row["portion"], f"{row['batch']}/{row['portion']}"}]
    if len(rows) == 1:
        return rows[0]
    if not rows:
        what = "no preparation row has this label."
        raise Stopped(Refusal("typed.unknown", name, what, "See `benchseal preparation list`."))
    names = ", ".join(f"{row['batch']}/{row['portion']}" for row in rows)
    raise Stopped(Refusal("typed.several", name, f"several rows bear it: {names}.", "Name the batch with it."))


def _entry(view: Reading, row: Row) -> Entry:
    """The entry that put the row on record as it is."""
    return read_entry(next(iter(view.entries(int(row["seq"]))))[1])


def _typists(view: Reading, subject: str, entry: Entry) -> Iterable[str]:
    """Who typed any version of a row."""
    if entry.kind.endswith(".added"):
        return {entry.actor}
    entries = (read_entry(body) for _, body, _, _ in view.entries())
    return {one.actor for one in entries if one.subject == subject and one.kind.endswith((".added", ".corrected"))}


def _masses(view: Reading, entry: Entry) -> dict[str, str]:
    """What the balance's own file of an entry says; nothing where none was given, or the row was corrected since."""
    if "balance" not in entry.digests:
        return {}
    read = masses_of(view, entry.digests["balance"], entry.digests.get("balance_layout", ""), "balance")
    return read if isinstance(read, dict) else {}


def _listed(people: Iterable[str]) -> str:
    return " or ".join(sorted(people))
