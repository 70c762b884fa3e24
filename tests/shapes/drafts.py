"""The draft of a shape's first file, and the few lines somebody corrected in it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tests.shapes.reading import made

from benchseal.ingest.accounting import accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.draft_text import draft_yaml
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from benchseal.ingest.accounting import Accounted

EDITS: Final = Path(__file__).parent / "edits"
FIRST_SEED: Final = 1  # of the file drafts are made from


@dataclass(frozen=True)
class Edit:
    """One line of the draft, and the lines that stand in its place."""

    out: str
    put: tuple[str, ...]

    @property
    def lines(self) -> int:
        """How many lines somebody had to write: those that are new, or the one taken out."""
        return max(len([line for line in self.put if line != self.out]), 1)


def drafted(name: str, seed: int = FIRST_SEED) -> tuple[str, Accounted]:
    """The draft as `layout propose` writes it, and what it makes of the file it was made from."""
    source, data = next(iter(made(name, seed).files.items()))
    draft = proposed(data, source, name.replace("_", "-"))
    assert isinstance(draft, Draft), draft
    told = accounted(data, source, draft.layout, DocumentRef(draft.layout.id, 0, "0" * 64))
    unread = [line for line in told.lines if line.role == "no place"]
    return draft_yaml(draft, source, unread), told


def edits_of(name: str) -> list[Edit]:
    """The stored corrections of a draft; none where it needs none."""
    path = EDITS / f"{name}.patch"
    if not path.exists():
        return []
    found: list[Edit] = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("-"):
            found.append(Edit(line[1:], ()))
        elif line.startswith("+"):
            found[-1] = Edit(found[-1].out, (*found[-1].put, line[1:]))
        else:
            assert line.startswith("#"), line
    return found


def edited(draft: str, edits: list[Edit]) -> str:
    """The draft with its corrections; each takes one line that stands there once."""
    lines = draft.split("\n")
    for edit in edits:
        assert lines.count(edit.out) == 1, edit.out
        at = lines.index(edit.out)
        lines[at : at + 1] = edit.put
    return "\n".join(lines)
