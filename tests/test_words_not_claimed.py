"""What nobody has shown is nowhere claimed of a file the program makes.

No independent checker of PDF/A-3 was found, so two words are not used of papers: one stands nowhere at all; the
other is a word of the trade (an uncertainty, a method, a system of a laboratory), and stands in nothing that makes or
is a paper, nor in any paragraph about the form of one.
"""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pikepdf
import pytest

from benchseal.certificate.page_text import page_texts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.conftest import Stage

ROOT = Path(__file__).parents[1]
CONFORMS, PASSED = (re.compile(word, re.IGNORECASE) for word in ("con" + "formant", r"\b" + "valid" + "ated"))
OF_THE_TRADE = "valid" + "ated uncertainty"  # a contribution by its name in the record
FORM = re.compile(r"PDF|archiv|tagged|accessib|pikepdf|qpdf|\bseal", re.IGNORECASE)
FOLDERS = ("pipeline", "report_templates", "schemas", "docs", "benchmarks", "scripts", "tools", "fixtures", "tests")
ENDINGS = {".py", ".md", ".jinja", ".css", ".json", ".yaml", ".toml", ".txt", ".csv", ".lock", ".sql", ""}
PAPER_ROOMS = ("report_templates", "pipeline/benchseal/certificate", "pipeline/benchseal/pictures")


def files(*folders: str) -> list[Path]:
    found = [path for folder in folders for path in sorted((ROOT / folder).rglob("*"))]
    return [path for path in found if path.is_file() and path.suffix in ENDINGS and "__pycache__" not in path.parts]


def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8", errors="replace")


def paragraphs(path: Path) -> Iterator[str]:
    """Of a document; of anything else its lines, each with those beside it."""
    if path.suffix == ".md":
        for block in re.split(r"\n\s*\n|\n(?=- )", text_of(path)):
            yield from block.splitlines() if block.lstrip().startswith("|") else (block,)
    else:
        lines = text_of(path).splitlines()
        yield from (" ".join(lines[max(0, at - 1) : at + 2]) for at in range(len(lines)))


def test_one_word_stands_nowhere() -> None:
    looked = [*files(*FOLDERS), *(path for path in ROOT.iterdir() if path.suffix in {".md", ".toml"})]
    assert len(looked) > 500, "files were not found"
    assert [path for path in looked if CONFORMS.search(text_of(path))] == []


def test_nothing_that_makes_a_paper_says_the_other() -> None:
    looked = files(*PAPER_ROOMS)
    assert len(looked) > 30, "files were not found"
    assert [path for path in looked if PASSED.search(text_of(path).replace(OF_THE_TRADE, ""))] == []


def test_no_paragraph_about_the_form_of_a_file_says_the_other() -> None:
    looked = [*files("pipeline", "docs"), ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md"]
    claims = [
        f"{path.relative_to(ROOT)}: {one.strip()[:90]}"
        for path in looked
        if PASSED.search(text_of(path))
        for one in paragraphs(path)
        if PASSED.search(one) and FORM.search(one.replace("benchseal", ""))
    ]
    assert claims == []


def test_no_issued_paper_says_either(stage: Stage) -> None:
    issued = sorted(stage.site.certificates.glob("*.pdf"))
    assert issued
    for path in issued:
        with pikepdf.open(io.BytesIO(path.read_bytes())) as pdf:
            printed = (
                " ".join(page_texts(pdf)) + pdf.Root.Metadata.read_bytes().decode() + str(dict(pdf.docinfo.items()))
            )
            files_in_it = "".join(spec.EF.F.read_bytes().decode() for spec in pdf.Root.AF)
        assert not CONFORMS.search(printed + files_in_it), path.name
        assert not PASSED.search(printed), path.name


@pytest.mark.parametrize("claim", ["This PDF/A-3 file is {}.", "A {} archive file", "Sealed and {}"])
def test_a_claim_would_be_found(claim: str, tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("Before.\n\n" + claim.format("valid" + "ated") + "\n\nAfter.\n", encoding="utf-8")
    assert any(PASSED.search(one) and FORM.search(one) for one in paragraphs(page))
