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
    """Rows with typed values, those that wait where asked."""
    with reading(args) as (_, view):
        found = [typed_portion(view, row) for row in view.rows("portion")]
        found += [typed_lot(view, row) for row in view.rows("standard_lot")]
    rows = [
        (one.name, ", ".join(sorted(one.by)), one.confirmed_by, one.confirmed_at[:19], one.words)
        for one in found
        if one.values and (one.waits or not args.open)
    ]
    return show.table(args, _COLUMNS, rows, name="typed")


def confirm_preparation(args: Namespace) -> int:
    """Confirm preparation rows."""
    return do(args, ConfirmPreparation(tuple(args.rows)))


def confirm_standard(args: Namespace) -> int:
    """Confirm standard lots."""
    return do(args, ConfirmStandard(tuple(args.lots)))
