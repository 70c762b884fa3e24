"""Whose specification judges a sample, what a specification must find in force, and files beside ``verify --all``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line


def approve(line: Line, folder: Path, *changes: tuple[str, str], same: bool = False) -> Answer:
    """A specification of the demo with some of its text changed, brought in and approved."""
    text = line("document", "show", "mineral-lozenge", by=(ANALYST,)).out
    text = text[text.index("kind:") :]
    for old, new in (*changes, *(() if same else (("id: mineral-lozenge", "id: changed"),))):
        assert old in text
        text = text.replace(old, new)
    (folder / "changed.yaml").write_text(text, encoding="utf-8")
    assert line("document", "add", str(folder / "changed.yaml"), by=(ANALYST,)).code == 0
    return line("document", "approve", "specification/mineral-lozenge" if same else "changed", by=(APPROVER,))


@pytest.mark.parametrize(
    ("old", "new", "code", "both"),
    [
        pytest.param("[zinc-flame]", "[zn-nosuch]", "method-not-in-force", ("Zn", "zn-nosuch"), id="no method"),
        pytest.param("[zinc-flame]", "[lead-furnace]", "method-element", ("for Zn", "measures Pb"), id="of lead"),
        pytest.param("customer: ardlea", "customer: nobody", "customer-unknown", ("nobody",), id="no customer"),
    ],
)
def test_a_specification_that_cannot_be_served_is_not_put_in_force(  # noqa: PLR0917
    line: Line, tmp_path: Path, old: str, new: str, code: str, both: tuple[str, ...]
) -> None:
    answer = approve(line, tmp_path, (old, new))
    assert answer.code == 5
    assert answer.err.startswith(f"specification.{code}: ")
    assert all(side in answer.err for side in both)
    assert line.rows("SELECT state FROM document WHERE id = 'changed'") == [("draft",)]


def test_a_sample_of_another_customer_is_refused_with_both(line: Line, tmp_path: Path) -> None:
    rows = line.inbox("samples.csv").read_text(encoding="utf-8").splitlines()
    first = next(row for row in rows if ",ardlea,mineral-lozenge," in row)
    other = first.replace(",ardlea,", ",corrigan,")
    (tmp_path / "s.csv").write_text(f"{rows[0]}\n{other}\n", encoding="utf-8")
    answer = line("sample", "add", str(tmp_path / "s.csv"), by=(ANALYST,))
    assert answer.code == 4
    assert answer.err.startswith("sample.specification-customer: ")
    assert "s.csv, line 2, lot" in answer.err
    assert "corrigan" in answer.err
    assert "agreed with ardlea" in answer.err


def test_a_later_version_for_another_customer_certifies_nothing_of_the_first(line: Line, tmp_path: Path) -> None:
    assert approve(line, tmp_path, ("customer: ardlea", "customer: corrigan"), same=True).code == 0
    answer = line("certificate", "draft", "A-2", by=(ANALYST,))
    assert "certificate.specification-customer: lot A-2:" in answer.err
    assert "is of customer ardlea" in answer.err


def test_a_portion_prepared_before_its_sample_came_is_refused(line: Line, tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_text(
        "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g\n"
        f"Z-1,ZZ-01,sample,S-00001,Zn,100.0,{ANALYST},2001-01-01T10:00:00,1.0\n",
        encoding="utf-8",
    )
    answer = line("preparation", "add", str(tmp_path / "p.csv"), by=(ANALYST,))
    assert answer.code == 4
    assert answer.err.startswith("preparation.before-receipt: ")
    assert "2001-01-01T10:00:00, before its sample S-00001 was received on " in answer.err


@pytest.mark.parametrize(
    ("words", "code"),
    [
        pytest.param(("--all", "any.pdf"), "verify.files-beside-all", id="file beside --all"),
        pytest.param(("any.pdf", "--against", "b.pdf"), "verify.against-alone", id="--against without --all"),
    ],
)
def test_files_are_not_silently_left_out(line: Line, words: tuple[str, ...], code: str) -> None:
    answer = line("verify", *words)
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.startswith(f"{code}: ")
    assert "--against" in answer.err
