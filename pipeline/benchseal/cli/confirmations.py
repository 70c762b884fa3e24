"""Typed values: what was typed, by whom, and who confirmed it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_confirmations import ConfirmPreparation, ConfirmStandard
from benchseal.desk.confirmations import typed_lot, typed_portion

if TYPE_CHECKING:
    from argparse import Namespace

_COLUMNS = ("row", "typed by", "confirmed by", "at", "values")


def list_all(args: Namespace) -> int:
    """Rows with typed values, those that wait where asked; one of which only a part was confirmed has two lines."""
    with reading(args) as (_, view):
        found = [typed_portion(view, row) for row in view.rows("portion")]
        found += [typed_lot(view, row) for row in view.rows("standard_lot")]
    rows = []
    for one in found:
        by = ", ".join(sorted(one.by))
        if one.seen_words and not args.open:
            rows.append((one.name, by, one.confirmed_by, one.confirmed_at[:19], one.seen_words))
        if one.waits:
            rows.append((one.name, by, "", "", one.unseen_words))
    return show.table(args, _COLUMNS, rows, name="typed")


def confirm_preparation(args: Namespace) -> int:
    """Confirm preparation rows."""
    return do(args, ConfirmPreparation(tuple(args.rows)))


def confirm_standard(args: Namespace) -> int:
    """Confirm standard lots."""
    return do(args, ConfirmStandard(tuple(args.lots)))
