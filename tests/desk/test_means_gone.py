"""A file without any of the rows of means its layout knows is told, unless a kept file honestly has none."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import TRACE, do

from benchseal.desk.acts_documents import AddLayoutSample
from benchseal.desk.acts_runs import CheckFile, IngestFile

if TYPE_CHECKING:
    from tests.conftest import Stage

PRINT = "furnace-cadmium.txt"


def without_means(data: bytes) -> bytes:
    """The print without its rows of means."""
    rows = data.splitlines(keepends=True)
    kept = [row for row in rows if b" mean " not in row]
    assert 10 < len(kept) < len(rows)
    return b"".join(kept)


def told(stage: Stage, data: bytes) -> list[str]:
    return [each.code for each in do(stage, CheckFile(data, "print.txt", "", ()), TRACE).notices]


@pytest.mark.refuses("DI Q12")
def test_a_print_that_lost_all_its_means_is_refused(stage: Stage) -> None:
    data = (stage.site.folder / "inbox" / PRINT).read_bytes()
    assert "ingest.means-gone" not in told(stage, data)
    bare = without_means(data)
    assert told(stage, bare) == ["ingest.means-gone"]
    done = do(stage, IngestFile(bare, "print.txt", "", ()), TRACE)
    assert (done.data["runs"], done.notices[0].code) == ([], "ingest.means-gone")
    assert "no row of means ('mean'), which layout page-print knows" in done.notices[0].what


def test_a_kept_file_without_means_says_that_there_may_be_none(stage: Stage) -> None:
    bare = without_means((stage.site.folder / "inbox" / PRINT).read_bytes())
    do(stage, AddLayoutSample("page-print", bare, "bare.txt", ""), TRACE)
    assert "ingest.means-gone" not in told(stage, bare)
