"""Bytes of UTF-8 where another encoding is due: seen, and honest words of one-byte codes are not taken for it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.records.encodings import CODECS, misread

ONE_BYTE = [name for name in CODECS if name not in {"utf-8", "utf-16", "us-ascii"}]


def found(data: bytes, encoding: str) -> tuple[int, str] | None:
    return misread(data, encoding, CODECS[encoding])


@pytest.mark.parametrize("encoding", ONE_BYTE)
@pytest.mark.parametrize(
    "text", ["für", "Käse, weiß, für 5 °C", "5 µg", "a \N{EN DASH} b", "5 ₂", "žluť", "вода", "Łódź", "漢字"]
)
def test_words_in_utf_8_are_seen_in_every_one_byte_code(encoding: str, text: str) -> None:
    where = found(("lot\n" + text).encode(), encoding)
    assert where is not None
    assert where[0] == 4 + next(nth for nth, sign in enumerate(text) if not sign.isascii())
    assert encoding in where[1]


def test_the_message_shows_both() -> None:
    where = found("für".encode(), "windows-1252")
    assert where is not None
    assert "'ü' would be read as 'Ã¼'" in where[1]


@pytest.mark.parametrize("encoding", ONE_BYTE)
def test_the_mark_is_seen_before_plain_text(encoding: str) -> None:
    where = found(b"\xef\xbb\xbfG2;x\n", encoding)
    assert where is not None
    assert where[0] == 0
    assert "mark of UTF-8" in where[1]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "us-ascii"])
def test_other_encodings_judge_for_themselves(encoding: str) -> None:
    assert found("\ufefffür".encode(), encoding) is None


@pytest.mark.parametrize(
    ("encoding", "text"),
    [
        ("windows-1250", "STÓŁ STÓŁ"), ("iso-8859-2", "STÓŁ"), ("windows-1250", "VÝŠKA"), ("windows-1250", "výška"),
        ("windows-1252", "5 Å²"), ("windows-1252", "für Käse, 5 µg/g, 20 °C"), ("iso-8859-1", "5 µg"),
        ("windows-1252", "«CAFÉ»"), ("iso-8859-15", "5 €, weiß"), ("windows-1251", "Вода, Её № 5"),
        ("cp437", "├──┬──┤ für"), ("cp850", "│5 µg│ 20 °C"), ("cp850", "┌────┐"), ("cp437", "plain"),
    ],
)  # fmt: skip
def test_honest_words_of_a_one_byte_code_are_left_alone(encoding: str, text: str) -> None:
    assert found(text.encode(CODECS[encoding]), encoding) is None


@given(text=st.text(st.sampled_from("abc äöüÄÖÜßéèàç"), min_size=1), encoding=st.sampled_from(["iso-8859-1", "cp850"]))
def test_letters_of_western_europe_are_never_taken_for_utf_8(text: str, encoding: str) -> None:
    if encoding == "cp850":
        text = text.replace("ß", "s")  # E1 begins a sign of three bytes there; its letters are continuations
    assert found(text.encode(CODECS[encoding]), encoding) is None


@given(text=st.text(min_size=1), encoding=st.sampled_from(ONE_BYTE))
def test_any_text_in_utf_8_of_two_signs_is_seen(text: str, encoding: str) -> None:
    signs = {sign for sign in text if not sign.isascii() and not 0xD800 <= ord(sign) < 0xE000}
    data = "".join(sign for sign in text if sign.isascii() or sign in signs).encode()
    if len(signs) > 1:
        assert found(data, encoding) is not None
