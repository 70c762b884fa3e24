"""Methods that say how long digests hold, and each way to say it wrongly."""

from __future__ import annotations

from typing import Any

import pytest
from tests.documents.test_rules_of_results import problems_of, sample

from benchseal.records.method import DigestsKeep, Method
from benchseal.records.shape import plain_of, record_of

SOURCE = "house rule, invented"


def codes(**keep: Any) -> list[str]:  # noqa: ANN401  a section as written
    return [one.code.removeprefix("documents.") for one in problems_of(sample("method") | {"digests_keep": keep})]


@pytest.mark.parametrize(
    "keep",
    [{"days": "7", "source": SOURCE}, {"hours": "1.5", "source": SOURCE}, {"days": "", "hours": "", "source": ""}, {}],
    ids=["days", "hours", "emptied", "nothing"],
)
def test_good_sections(keep: dict[str, str]) -> None:
    assert codes(**keep) == []


@pytest.mark.parametrize(
    ("keep", "code"),
    [
        pytest.param({"days": "7", "hours": "24", "source": SOURCE}, "method-keeping-both", id="both"),
        pytest.param({"days": "7"}, "method-keeping-incomplete", id="no source"),
        pytest.param({"source": SOURCE}, "method-keeping-incomplete", id="no time"),
        pytest.param({"days": "1.5", "source": SOURCE}, "method-keeping-time", id="half a day"),
        pytest.param({"days": "1831", "source": SOURCE}, "method-keeping-time", id="more than five years"),
        pytest.param({"hours": "43921", "source": SOURCE}, "method-keeping-time", id="hours of more than five years"),
        pytest.param({"days": "-1", "source": SOURCE}, "value-unfit", id="less than none"),
    ],
)
def test_bad_sections(keep: dict[str, str], code: str) -> None:
    found = codes(**keep)
    assert found, keep
    assert code in found


def test_methods_without_it_keep_their_bytes() -> None:
    written = sample("method")
    assert plain_of(record_of(Method, written))["digests_keep"] == {
        "days": "28", "hours": "", "source": "house limit, invented",
    }  # fmt: skip
    del written["digests_keep"]
    value = record_of(Method, plain_of(record_of(Method, written)))
    assert value.digests_keep == DigestsKeep()
    assert "digests_keep" not in plain_of(value)
