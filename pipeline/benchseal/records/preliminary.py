"""Preliminary figures: what a customer is told before the certificate, as a record of its own."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from benchseal.records.evidence import Laboratory
from benchseal.records.registers import Customer, Sample
from benchseal.records.results import WorkedResult
from benchseal.records.run import DocumentRef
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY
from benchseal.records.site_rules import Paper
from benchseal.records.specification import Requirement, Specification


@dataclass(frozen=True, slots=True)
class Figure:
    """One reviewed result as it is told."""

    run: str
    version: int
    result: WorkedResult


@dataclass(frozen=True, slots=True)
class NotYet:
    """One line of the specification without a figure, and why."""

    requirement: Requirement
    why: str


@dataclass(frozen=True, slots=True)
class Preliminary:
    """What one paper says. number: ``P-2026-00001``. given_to: the person who gets it; reason: why before release.

    It states no conformity: that is for the certificate. paper: size of the page, A4 where it is empty.
    """

    schema: Literal["preliminary/1"]
    number: str
    laboratory: Laboratory
    customer: Customer
    sample: Sample
    specification: Specification
    specification_ref: DocumentRef
    given_to: str
    reason: str
    figures: tuple[Figure, ...]
    not_yet: tuple[NotYet, ...]
    program: str
    at: str
    paper: Paper = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class ToldFigure:
    """What a holder was told of one result: ``0.610 ± 0.075 mg/kg``, or why no figure stands any more."""

    result_id: str
    what: str
    text: str


@dataclass(frozen=True, slots=True)
class Told:
    """What the holder of a paper knows after being told: every figure of the paper as it stood then."""

    schema: Literal["preliminary-told/1"]
    number: str
    figures: tuple[ToldFigure, ...]
