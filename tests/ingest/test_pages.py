"""Pages that count themselves: one fault, told once, with what helps."""

from __future__ import annotations

import pytest

from benchseal.ingest.pages import PAGES_AGAIN, Pages, remedy_of_files


def told(texts: list[str], stated: str) -> str:
    pages = Pages()
    for nth, text in enumerate(texts, 1):
        pages.take(text, 10 * nth, 6)
    fault = pages.fault(stated)
    return "" if fault is None else f"{fault[1]} {fault[0]}"


@pytest.mark.parametrize(
    ("texts", "stated", "due"),
    [
        ([], "3", ""),
        (["1", "2", "3"], "", ""),
        (["1", "2", "3"], "3", ""),
        (["01", "02"], "02", ""),
        (["1"], "3", "0 The file says it has 3 pages; 1 was read. Pages 2, 3 are lacking."),
        (["1", "2"], "1", "0 The file says it has 1 pages; 2 were read."),
        (["1", "2"], "x", "0 The file says it has x pages; 2 were read."),
        (["1", "3", "2"], "3", "20 Page 3 stands where page 2 is due. They stand in the order 1, 3, 2."),
        (["1", "3"], "", "20 Page 3 stands where page 2 is due. Page 2 is lacking."),
        (["1", "1", "2"], "2", "20 Page 1 stands where page 2 is due. Page 1 comes twice."),
        (["1", "x"], "2", "20 Page x stands where page 2 is due."),
        (["1", "²"], "2", "20 Page ² stands where page 2 is due."),
        (["99999"], "", "10 Page 99999 stands where page 1 is due."),
        (
            ["12"],
            "",
            "10 Page 12 stands where page 1 is due. Pages 1, 2, 3, 4, 5, 6, 7, 8, 9, 10 and 1 more are lacking.",
        ),
    ],
)
def test_one_fault(texts: list[str], stated: str, due: str) -> None:
    assert told(texts, stated) == due


def test_what_helps() -> None:
    assert "--one-run" in PAGES_AGAIN
    assert remedy_of_files(told(["2", "1"], "2")) == "Name the files in the order they were written."
    assert "lacking" in remedy_of_files(told(["1", "3"], "3"))
    assert "each once" in remedy_of_files(told(["1", "1"], ""))
