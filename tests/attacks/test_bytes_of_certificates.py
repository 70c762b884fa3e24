"""Single bytes of issued certificates changed: not one change leaves a file GENUINE.

In the suite, of three certificates: every byte of the file's structure (all that is outside its streams), every digit
of one signature and some of the others, and every 97th byte within streams. With --long: every byte of all three, once
as little as possible and once in its highest bit.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

import pytest
from tests.attacks.forging import RANGE

from benchseal.desk.founding import trust_of
from benchseal.desk.site import open_site
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from benchseal.demo.play import Played

_STREAM = re.compile(rb"(?<=\bstream\n).*?(?=endstream)", re.DOTALL)
_BLANKS = {0x20: 0x0A, 0x0A: 0x20, 0x0D: 0x20, 0x09: 0x20}


@pytest.fixture(scope="module")
def issued(played: Played) -> tuple[Trust, list[bytes]]:
    site = open_site(played.site.folder)
    trust = read_trust(trust_of(site))
    files = [(site.certificates / f"{number}.pdf").read_bytes() for number in played.certificates]
    site.store.close()
    assert isinstance(trust, Trust)
    assert [verify_certificate(pdf, trust).word for pdf in files] == ["GENUINE"] * 3
    return trust, files


def as_little(byte: int) -> int:
    """A letter in its other case, one blank for another, else the last bit: often nothing to a reader of PDF files."""
    if chr(byte).isascii() and chr(byte).isalpha():
        return byte ^ 0x20
    return _BLANKS.get(byte, byte ^ 1)


def highest_bit(byte: int) -> int:
    return byte ^ 0x80


def container(pdf: bytes) -> range:
    """Places of the digits of the signature, the zeros after it left out."""
    found = list(RANGE.finditer(pdf))[-1]
    start, end = int(found[1]) + 1, int(found[2]) - 1
    return range(start, start + len(pdf[start:end].rstrip(b"0")))


def structure(pdf: bytes) -> list[int]:
    """Every place outside streams and outside the digits of the signature."""
    inside = set(container(pdf))
    for found in _STREAM.finditer(pdf):
        inside.update(range(*found.span()))
    return [place for place in range(len(pdf)) if place not in inside]


def verdicts(
    pdf: bytes, trust: Trust, places: Iterable[int], change: Callable[[int], int]
) -> tuple[Counter[str], list[int]]:
    """How often each word is said of the file with one byte changed; and the places where it is not ALTERED."""
    words: Counter[str] = Counter()
    others = []
    told = bytearray(pdf)
    for place in places:
        told[place] = change(pdf[place])
        word = verify_certificate(bytes(told), trust).word
        words[word] += 1
        if word != "ALTERED":
            others.append(place)
        told[place] = pdf[place]
    assert told == pdf
    return words, others


def demand_none(pdf: bytes, words: Counter[str], others: list[int]) -> None:
    """No file is GENUINE; UNKNOWN is said only where it is no PDF file, or carries no seal any more."""
    assert words["GENUINE"] == 0, others
    found = list(RANGE.finditer(pdf))[-1]
    assert {place for place in others if not found.start() <= place < found.end()} <= set(range(5))


@pytest.mark.refuses("P11 11.10(a)", "P11 11.30")
@pytest.mark.parametrize("number", [0, 1, 2])
def test_bytes_of_the_structure_and_every_97th_other(issued: tuple[Trust, list[bytes]], number: int) -> None:
    trust, files = issued
    pdf = files[number]
    outside = structure(pdf)
    digits = container(pdf)[:: 1 if number == 0 else 7]
    every = sorted({*outside, *digits, *range(number, len(pdf), 97)})
    assert len(outside) > 20_000
    words, others = verdicts(pdf, trust, every, as_little)
    assert sum(words.values()) == len(every)
    demand_none(pdf, words, others)


@pytest.mark.long
@pytest.mark.parametrize("change", [as_little, highest_bit])
@pytest.mark.parametrize("number", [0, 1, 2])
def test_every_byte(issued: tuple[Trust, list[bytes]], number: int, change: Callable[[int], int]) -> None:
    trust, files = issued
    words, others = verdicts(files[number], trust, range(len(files[number])), change)
    demand_none(files[number], words, others)
    print(f"certificate {number + 1}, {change.__name__}: {dict(words)}")  # noqa: T201  shown with -rP
