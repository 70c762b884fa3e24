"""The played demo with rules of the site in force, and how its people act. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_runs import IngestFile
from benchseal.desk.perform import perform

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.desk.acting import Receipt
    from benchseal.records.entries import Entry

FLAME, TRACE = "p-maren.holt", "p-tobias.quill"
REVIEWER, APPROVER, SECOND, ADMIN = "p-edda.farrow", "p-ruth.calloway", "p-jonas.wick", "p-sil.penhallow"
LEFT: Final = "flame-ware.txt"


def do(stage: Stage, act: object, person: str) -> Receipt:
    return perform(stage.site, act, stage.key(person))


def rules(stage: Stage, *lines: str) -> None:
    """Rules of the site with these lines are in force."""
    text = "\n".join(("kind: site_rules", "id: RULES", "title: Rules of the site", *lines, ""))
    do(stage, AddDocument(text.encode(), "rules.yaml"), FLAME)
    do(stage, ApproveDocument("RULES"), APPROVER)


def left_file(stage: Stage, **changes: str) -> IngestFile:
    """The file the demo leaves in the inbox."""
    data = (stage.site.folder / "inbox" / LEFT).read_bytes()
    return IngestFile(data, LEFT, "", (), **changes)  # type: ignore[arg-type]  # texts only


def read_anew(data: bytes, turn: int) -> bytes:
    """The same series read another time: every signal higher by ``turn`` times 0.4 per cent, its means with it."""
    rows = [row.split(b";") for row in data.split(b"\r\n")]
    for cells in rows:
        if len(cells) == 9 and cells[0].isdigit():
            read = [round(float(cell.replace(b",", b".")) * (1 + 0.004 * turn), 4) for cell in cells[5:8]]
            cells[5:] = [b"%.4f" % value for value in (*read, sum(read) / 3)]
            cells[5:] = [cell.replace(b".", b",") for cell in cells[5:]]
    return b"\r\n".join(b";".join(cells) for cells in rows)


def bring_in(stage: Stage, **changes: str) -> list[str]:
    """Runs of that file."""
    done = do(stage, left_file(stage, **changes), FLAME)
    runs = done.data["runs"]
    assert isinstance(runs, list)
    return [str(run) for run in runs]


def kinds(stage: Stage, *, last: int = 0) -> list[str]:
    return [entry.kind for entry in entries(stage)[-last:]]


def entries(stage: Stage) -> list[Entry]:
    from benchseal.desk.reading import all_entries  # noqa: PLC0415

    with stage.site.store.reading() as view:
        return all_entries(view)
