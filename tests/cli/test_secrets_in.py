"""User id and password from a pipe: what came in another encoding is named, and no byte of a secret is shown."""

from __future__ import annotations

import os
from argparse import Namespace
from typing import TYPE_CHECKING

import pytest

from benchseal.cli.secrets_in import one_more, passwords, secret_lines
from benchseal.desk.admission import Password
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from collections.abc import Callable

LINES = "p-ines.brandt\nüber slate 7\n"
READERS = {
    "all at once": lambda given: secret_lines(given, 2),
    "one of several": lambda given: one_more(Namespace(secret_fd=given, command="run list")),
}


def given(data: bytes) -> int:
    read, write = os.pipe()
    os.write(write, data)
    os.close(write)
    return read


@pytest.mark.parametrize("reader", list(READERS))
@pytest.mark.parametrize(
    ("data", "said"),
    [
        pytest.param(
            b"\xef\xbb\xbf" + LINES.encode(), "begins with the byte order mark of UTF-8 (ef bb bf)", id="mark"
        ),
        pytest.param(LINES.encode("utf-16"), "begins with the byte order mark of UTF-16 (ff fe)", id="UTF-16"),
        pytest.param(b"\xfe\xff" + LINES.encode("utf-16-be"), "of UTF-16 (fe ff)", id="UTF-16 of the other order"),
        pytest.param("ab\ncd\n".encode("utf-16-le"), "line 1 of what came holds a zero byte", id="UTF-16, no mark"),
        pytest.param(LINES.encode("cp1252"), "line 2 of what came is not UTF-8", id="a code page"),
    ],
)
def test_what_came_in_another_encoding_is_named(reader: str, data: bytes, said: str) -> None:
    read: Callable[[int], object] = READERS[reader]
    with pytest.raises(Stopped) as stopped:
        read(given(data))
    (problem,) = stopped.value.notices
    assert problem.code == "sign-in.secret-unreadable"
    assert said in problem.what
    assert "codec" not in problem.what
    assert "0xfc" not in problem.what, "a byte of the password"
    assert "UTF-8 without a byte order mark" in problem.remedy
    assert "pipe" not in problem.remedy, "one was given"


def test_plain_lines_come_as_they_are() -> None:
    assert passwords(given(LINES.encode()), 1) == (Password("p-ines.brandt", "über slate 7"),)
    assert passwords(given(LINES.replace("\n", "\r\n").encode()), 1) == (Password("p-ines.brandt", "über slate 7"),)
    inner = LINES.replace("über", "\ufeffüber")
    assert passwords(given(inner.encode()), 1)[0].password == "\ufeffüber slate 7", "a password may hold any sign"
