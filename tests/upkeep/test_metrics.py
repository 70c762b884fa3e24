"""``status --prometheus``: the text exposition format, read by its grammar.

Grammar: https://prometheus.io/docs/instrumenting/exposition_formats/, "Text format details", and the data model of
metric and label names, https://prometheus.io/docs/concepts/data_model/.
"""

from __future__ import annotations

import math
import re
from dataclasses import fields, replace
from datetime import UTC, datetime
from typing import NamedTuple

import pytest

from benchseal.problems import Finding
from benchseal.upkeep.metrics import exposition
from benchseal.upkeep.status import Status

NAME = r"[a-zA-Z_:][a-zA-Z0-9_:]*"
LABEL = r'[a-zA-Z_][a-zA-Z0-9_]*="(?:[^"\\\n]|\\["\\n])*"'
SAMPLE = re.compile(rf"({NAME})(?:\{{((?:{LABEL})(?:,{LABEL})*),?\}})? (\S+)")
NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
WELL = Status(148, "2026-03-02T17:37:46.982Z", 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, ())
AMISS = replace(
    WELL,
    backup_days=-1,
    tested_days=-1,
    findings=tuple(Finding(code, "a place", "what", "remedy") for code in ("doctor.disk", "doctor.x", "doctor.disk")),
)


class Read(NamedTuple):
    """Samples by name and labels as written, and the type of each metric."""

    samples: dict[tuple[str, str], float]
    types: dict[str, str]


def read(text: str) -> Read:
    """Read the format strictly. AssertionError where it is broken."""
    assert text.endswith("\n")
    samples: dict[tuple[str, str], float] = {}
    types: dict[str, str] = {}
    helped: set[str] = set()
    order: list[str] = []
    for line in text[:-1].split("\n"):
        if line.startswith("# HELP "):
            name = line.split(" ")[2]
            assert name not in helped
            assert not re.search(r"\\(?![\\n])", line)
            helped.add(name)
        elif line.startswith("# TYPE "):
            _, _, name, kind = line.split(" ")
            assert name not in types
            assert kind in {"counter", "gauge", "histogram", "summary", "untyped"}
            types[name] = kind
        else:
            found = SAMPLE.fullmatch(line)
            assert found, line
            name, labels, value = found.group(1), found.group(2) or "", found.group(3)
            assert name in types, "TYPE comes before the first sample"
            assert name in helped
            assert (name, labels) not in samples, "a name with its labels stands once"
            samples[name, labels] = float(value)
            order.append(name)
    assert len({*order}) == sum(one != before for one, before in zip(order, ["", *order], strict=False)), "one group"
    return Read(samples, types)


@pytest.mark.parametrize(
    "broken",
    [
        pytest.param("# HELP a b\n# TYPE a gauge\na 1", id="no line feed at the end"),
        pytest.param("# HELP a b\na 1\n", id="no type"),
        pytest.param("# HELP a b\n# TYPE a gauge\na 1\na 2\n", id="twice"),
        pytest.param("# HELP a b\n# TYPE a number\na 1\n", id="no such type"),
        pytest.param('# HELP a b\n# TYPE a gauge\na{b="c"d"} 1\n', id="quote not escaped"),
        pytest.param('# HELP a b\n# TYPE a gauge\na{b-c="d"} 1\n', id="label name"),
    ],
)
def test_the_reader_here_sees_what_is_broken(broken: str) -> None:
    with pytest.raises(AssertionError):
        read(broken)


@pytest.mark.parametrize("found", [WELL, AMISS, replace(WELL, last_at="")], ids=["well", "amiss", "no entry"])
def test_the_format(found: Status) -> None:
    text = exposition(found, "L-1", "0.1.0", NOW)
    whole = read(text)
    assert all(name.endswith("_total") == (kind == "counter") for name, kind in whole.types.items())
    assert all('ledger="L-1"' in labels for _, labels in whole.samples)
    assert ("benchseal_ledger_last_entry_timestamp_seconds" in whole.types) is bool(found.last_at)


def test_every_count_is_there_with_its_number() -> None:
    given = read(exposition(WELL, "L-1", "0.1.0", NOW)).samples
    named = {"entries": "ledger_entries_total", "backup_days": "backup_age_days", "tested_days": "backup_test_age_days"}
    for each in fields(Status):
        if each.name not in {"last_at", "findings"}:
            name = f"benchseal_{named.get(each.name, each.name)}"
            assert given[name, 'ledger="L-1"'] == getattr(WELL, each.name), each.name
    assert given["benchseal_status_timestamp_seconds", 'ledger="L-1"'] == NOW.timestamp()
    last = given["benchseal_ledger_last_entry_timestamp_seconds", 'ledger="L-1"']
    assert NOW.timestamp() - last == pytest.approx(22 * 60 + 13.018)
    assert given["benchseal_well", 'ledger="L-1"'] == 1


def test_what_is_amiss_and_what_never_was() -> None:
    given = read(exposition(AMISS, "L-1", "0.1.0", NOW)).samples
    assert given["benchseal_well", 'ledger="L-1"'] == 0
    assert given["benchseal_findings", 'ledger="L-1",code="doctor.disk"'] == 2
    assert given["benchseal_findings", 'ledger="L-1",code="doctor.x"'] == 1
    assert given["benchseal_backup_age_days", 'ledger="L-1"'] == math.inf
    assert "a place" not in exposition(AMISS, "L-1", "0.1.0", NOW)


def test_odd_letters_in_a_label_are_escaped() -> None:
    text = exposition(WELL, 'a"b\\c\nd', "0.1.0", NOW)
    assert ("benchseal_well", r'ledger="a\"b\\c\nd"') in read(text).samples
