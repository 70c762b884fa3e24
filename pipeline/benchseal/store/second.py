"""The second process of a long check: one task in on standard input, one answer out, both JSON.

Whoever starts it holds a reading transaction on the same file, so no writer can commit before both are done. The file
is therefore opened as one that cannot change: without a lock, which a waiting writer would refuse to a newcomer.
"""

from __future__ import annotations

import json
import sqlite3
import sys
from contextlib import closing
from typing import TYPE_CHECKING, Any

from benchseal.ledger.tree import Frontier
from benchseal.ledger.walk import Part, Start, Walk, walk
from benchseal.store.stored_rows import StoredRows, as_text

if TYPE_CHECKING:
    from collections.abc import Collection


def main() -> int:
    """Answer one task. Damage may end it half way, with a traceback nobody reads: the first process looks then."""
    task = json.load(sys.stdin)
    with closing(sqlite3.connect(task["file"] + "?immutable=1", uri=True)) as connection:
        connection.text_factory = as_text
        rows = StoredRows(connection)
        if task["check"] == "walk":
            answer: Any = _walk(rows, task)
        else:
            answer = rows.wrong_objects(task["from"])
    json.dump(answer, sys.stdout)
    return 0


def walk_task(ledger: str, start: Start, sizes: Collection[int]) -> dict[str, Any]:
    """To walk from ``start`` to the end."""
    peaks = [peak.hex() for peak in start.frontier.peaks]
    begun = {"size": start.frontier.size, "head": start.head.hex(), "peaks": peaks}
    return {"check": "walk", "ledger": ledger, **begun, "sizes": sorted(sizes)}


def walk_answer(ledger: str, answer: dict[str, Any]) -> Walk | None:
    """The walk an answer tells of; None where it found something, which it does not tell."""
    if not answer["whole"]:
        return None
    roots = {int(size): bytes.fromhex(root) for size, root in answer["roots"].items()}
    return Walk(ledger, answer["size"], bytes.fromhex(answer["head"]), _frontier(answer), roots, ())


def _walk(rows: StoredRows, task: dict[str, Any]) -> dict[str, Any]:
    start = Start(bytes.fromhex(task["head"]), _frontier(task))
    coming = rows.stored_entries(task["size"] + 1)
    walked = walk(task["ledger"], coming, task["sizes"], rows, Part(start))
    return {
        "whole": not walked.findings,
        "size": walked.size,
        "head": walked.head.hex(),
        "peaks": [peak.hex() for peak in walked.frontier.peaks],
        "roots": {size: root.hex() for size, root in walked.roots.items()},
    }


def _frontier(told: dict[str, Any]) -> Frontier:
    return Frontier(told["size"], tuple(map(bytes.fromhex, told["peaks"])))


if __name__ == "__main__":
    sys.exit(main())
