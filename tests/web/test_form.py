"""One file out of a form, or a sentence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.web.form import file_of

TYPE = "multipart/form-data; boundary=xyz"
HEAD = b'Content-Disposition: form-data; name="certificate"; filename="a.pdf"\r\nContent-Type: application/pdf'


def body(content: bytes, head: bytes = HEAD, mark: bytes = b"xyz") -> bytes:
    return b"--" + mark + b"\r\n" + head + b"\r\n\r\n" + content + b"\r\n--" + mark + b"--\r\n"


@given(st.binary(min_size=1).filter(lambda data: b"\r\n--xyz" not in data))
def test_any_file_comes_out_as_it_was(content: bytes) -> None:
    assert file_of(TYPE, body(content)) == content


def test_a_boundary_in_quotes() -> None:
    assert file_of('Multipart/Form-Data; boundary="x y"', body(b"%PDF", mark=b"x y")) == b"%PDF"


TWO = b"--xyz\r\n" + HEAD + b"\r\n\r\na\r\n--xyz\r\n" + HEAD + b"\r\n\r\nb\r\n--xyz--\r\n"
WRONG = {
    "another type": ("application/x-www-form-urlencoded", body(b"a"), "as a browser sends"),
    "no type": ("", body(b"a"), "as a browser sends"),
    "no boundary": ("multipart/form-data", body(b"a"), "as a browser sends"),
    "boundary too long": (f"multipart/form-data; boundary={'x' * 71}", body(b"a"), "as a browser sends"),
    "another boundary": ("multipart/form-data; boundary=abc", body(b"a"), "does not begin"),
    "empty": (TYPE, b"", "does not begin"),
    "two files": (TYPE, TWO, "another number of files"),
    "cut off": (TYPE, body(b"a")[:-9], "another number of files"),
    "more after the end": (TYPE, body(b"a") + b"more", "another number of files"),
    "no description": (TYPE, b"--xyz\r\nabc\r\n--xyz--\r\n", "no description"),
    "a long description": (TYPE, body(b"a", HEAD + b"\r\nX: " + b"y" * 9000), "no description"),
    "another field": (TYPE, body(b"a", HEAD.replace(b"certificate", b"other")), "no field"),
    "the field twice": (TYPE, body(b"a", HEAD + b"\r\n" + HEAD), "no field"),
    "no file chosen": (TYPE, body(b""), "No file"),
}


@pytest.mark.parametrize("name", WRONG)
def test_another_form_is_a_sentence(name: str) -> None:
    kind, data, words = WRONG[name]
    found = file_of(kind, data)
    assert isinstance(found, str)
    assert words in found


@given(st.text(max_size=90), st.binary(max_size=300))
def test_rubbish_is_never_a_traceback(kind: str, data: bytes) -> None:
    assert isinstance(file_of(kind, data), str | bytes)
    assert isinstance(file_of(TYPE, b"--xyz\r\n" + data), str | bytes)
