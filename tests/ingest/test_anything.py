"""Any bytes at any parser: five hundred changed inputs each in the suite, twenty thousand with ``--long``."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.ingest.anything import PARSERS, layouts, seeds

from benchseal.documents.balance import read_balance
from benchseal.documents.sheets import (
    read_customers,
    read_glassware,
    read_instruments,
    read_plan_rows,
    read_samples,
    read_standard_lots,
)
from benchseal.export.acknowledgements import read_acknowledgement
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable

EXAMPLES = [pytest.param(500, id="500"), pytest.param(20_000, id="20000", marks=pytest.mark.long)]
_SIGNS = st.sampled_from(
    [
        b"",
        b" ",
        b"\t",
        b";",
        b",",
        b"|",
        b'"',
        b"'",
        b"\r",
        b"\n",
        b"\r\n",
        b"\x0c",
        b"\x00",
        b"\x1a",
        b"\xef\xbb\xbf",
        b"-",
        b"0",
        b"NaN",
        b"1e999",
        b"9" * 70,
        b"#",
        b"&a",
        b"*a",
        b"!t",
        b"{",
        b"[",
        b": ",
        b"- ",
        b"---\n",
        b"\xff\xfe",
        b"\x85",
        "\u2028".encode(),
        "\u202e".encode(),
        "٣".encode(),
        "é".encode(),
        b"PK\x03\x04",
        b"%PDF-",
    ]
)


@st.composite
def changed(draw: st.DrawFn, parser: str) -> bytes:
    """A good input changed in a few places, or cut, doubled, or anything at all."""
    whole = draw(st.sampled_from(seeds(parser)))
    for _ in range(draw(st.integers(0, 4))):
        at, length = draw(st.integers(0, len(whole))), draw(st.sampled_from([0, 0, 1, 2, 8, 80, 800]))
        put = draw(_SIGNS | st.binary(max_size=6))
        match draw(st.integers(0, 5)):
            case 0:
                whole = whole[:at]
            case 1:
                whole = whole[:at] + whole[at : at + length] + whole[at:]
            case _:
                whole = whole[:at] + put + whole[at + length :]
    return whole


@pytest.mark.clause("A11 5")
@pytest.mark.parametrize("examples", EXAMPLES)
@pytest.mark.parametrize("parser", PARSERS)
def test_any_bytes_are_read_whole_or_refused_in_words(parser: str, examples: int) -> None:
    layouts()  # read once, outside the examples

    @settings(max_examples=examples, suppress_health_check=list(HealthCheck))
    @given(data=changed(parser) | st.binary(max_size=300))
    def holds(data: bytes) -> None:
        PARSERS[parser](data)

    holds()


@pytest.mark.parametrize(
    ("parser", "read"),
    [
        ("samples", read_samples),
        ("standards", read_standard_lots),
        ("instruments", read_instruments),
        ("customers", read_customers),
        ("plan rows", read_plan_rows),
        ("glassware", read_glassware),
        ("workbook", read_customers),
        ("balance", read_balance),
        ("acknowledgement", read_acknowledgement),
    ],
)
def test_what_is_changed_was_good(parser: str, read: Callable[[bytes, str], object]) -> None:
    """Changes of something refused at its first line would reach no further."""
    found = read(seeds(parser)[0], "given")
    assert found
    assert not isinstance(found, tuple) or not any(isinstance(each, Problem) for each in found), found


def test_the_fuzzer_starts_or_says_what_it_needs() -> None:
    """Without ``atheris``, which no lock file holds, it says how to get it and ends; with it, it names its parsers."""
    root = Path(__file__).parents[2]
    path = os.pathsep.join([str(root / "pipeline"), str(root)])
    ran = subprocess.run(  # noqa: S603  our own interpreter and script
        [sys.executable, str(root / "tools" / "fuzz_parsers.py")],
        env={**os.environ, "PYTHONPATH": path}, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert ran.returncode == 2
    assert "Traceback" not in ran.stderr
    assert "pip install atheris" in ran.stderr


@pytest.mark.parametrize("parser", PARSERS)
def test_there_is_something_good_to_change(parser: str) -> None:
    assert seeds(parser)
    for data in seeds(parser):
        PARSERS[parser](data)
