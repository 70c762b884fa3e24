"""A policy: a text of the laboratory that people read and acknowledge before they act under it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

Purpose: TypeAlias = Literal["signing", "records", "other"]


@dataclass(frozen=True, slots=True)
class Policy:
    """One policy. id: chosen by the laboratory. text: as people read it, in as many lines as it needs.

    purpose: while a policy for ``signing`` is in force, nobody signs before acknowledging the version in force
    (21 CFR 11.10(j)); ``records`` and ``other`` are listed with who has not acknowledged them, and bar nobody.
    """

    kind: Literal["policy"]
    id: str
    title: str
    purpose: Purpose
    text: str
