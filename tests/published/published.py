"""The published numbers, read once: ``fixtures/published``; SOURCE.md says where each comes from."""

from __future__ import annotations

import csv
import json
from math import log10
from pathlib import Path
from typing import Any, cast

from benchseal.compute.calc import answer

FOLDER = Path(__file__).parents[2] / "fixtures" / "published"


def figures(name: str) -> dict[str, Any]:
    """One JSON file of published figures."""
    return cast("dict[str, Any]", json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8")))


def table(name: str) -> list[dict[str, str]]:
    """One table of published figures."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def dataset(name: str, of: str) -> dict[str, Any]:
    """One NIST data set."""
    return next(one for one in figures(name)["datasets"] if one["name"] == of)


def case(of: str) -> dict[str, Any]:
    """One calibration example."""
    return next(one for one in figures("calibration_examples")["cases"] if one["id"] == of)


def calc(**request: object) -> dict[str, Any]:
    """The answer to a request that has one."""
    found = answer(request)
    assert isinstance(found, dict), found
    return cast("dict[str, Any]", found)


def digits(value: float, certified: str | float) -> float:
    """Decimal digits on which two numbers agree, at most 16; absolute where the certified one is zero."""
    true = float(certified)
    apart = abs(value - true) / (abs(true) or 1.0)
    return 16.0 if apart == 0 else min(16.0, -log10(apart))
