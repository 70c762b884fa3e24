"""A field that a certificate must state, emptied in the register: the draft is refused and says where to put it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, REVIEWER
from tests.journeys.test_corrections import done, refused

if TYPE_CHECKING:
    from tests.journeys.commands import Line


def test_what_came_cannot_be_emptied(line: Line) -> None:
    words = ("sample", "correct", "B-4", "--set", "quantity_received=", "--reason", "as the delivery note has it")
    refused(line(*words, by=(ANALYST,)), "documents.cell-empty")


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize(
    ("set_to", "field", "column"),
    [
        ("customer_sample_id=", "item.customer_sample_id", "customer_sample_id"),
        ("sampled_by=Tern Quay Laboratory", "item.sampling", "sampling_plan"),
        ("sampled_by=the laboratory", "item.sampling", "sampling_plan"),
        ("sampled_by=Maren Holt, Tern Quay laboratory", "item.sampling", "sampling_plan"),
    ],
)
def test_a_draft_is_refused_by_the_field_and_its_column(line: Line, set_to: str, field: str, column: str) -> None:
    words = ("sample", "correct", "B-4", "--set", set_to, "--reason", "as the delivery note has it")
    done(line, *words, by=(ANALYST,))  # nobody signed it yet
    answer = line("certificate", "draft", "B-4", by=(REVIEWER,))
    code = "certificate.field-empty" if set_to.endswith("=") else "certificate.field-due"
    refused(answer, code)
    assert f"{code}: {field}" in answer.err
    assert f"the sample register, column {column} (`benchseal sample correct`)" in answer.err


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize("said", ["Maren Holt", "maren.holt", "p-maren.holt"])
def test_somebody_enrolled_here_who_sampled_is_named_as_of_the_laboratory(line: Line, said: str) -> None:
    """Printed as it stands, the page would say that somebody else had sampled."""
    words = ("sample", "correct", "B-4", "--reason", "as the sampling record has it", "--set")
    done(line, *words, f"sampled_by={said}", by=(ANALYST,))
    answer = line("certificate", "draft", "B-4", by=(REVIEWER,))
    refused(answer, "certificate.sampler-ours")
    assert f"sampled_by says '{said}', which is p-maren.holt of this laboratory" in answer.err
    done(line, *words, f"sampled_by={said}, the laboratory", by=(ANALYST,))
    refused(line("certificate", "draft", "B-4", by=(REVIEWER,)), "certificate.field-due")
    plan = ("--set", "sampling_plan=SP-3", "--set", "sampled_on=2026-01-08")
    done(line, *words[:-1], *plan, by=(ANALYST,))
    assert line("certificate", "draft", "B-4", by=(REVIEWER,)).code == 0
