"""One file out of the body that a browser sends for a form (RFC 7578, multipart/form-data)."""

from __future__ import annotations

import re
from typing import Final

FIELD: Final = "certificate"

# RFC 2046, 5.1.1: at most 70 characters of these.
_BOUNDARY: Final = re.compile(r"multipart/form-data; *boundary=(?:\"([^\"]{1,70})\"|([!-~]{1,70}))", re.IGNORECASE)
_NAMED: Final = re.compile(
    rb'^content-disposition: *form-data; *name="%s"(?:;|$)' % FIELD.encode(), re.IGNORECASE | re.MULTILINE
)
_HEADERS_LARGEST: Final = 8 * 1024


def file_of(content_type: str, body: bytes) -> bytes | str:
    """The bytes of the one file, or a sentence that says why there is none. Name and type of the file are not read."""
    found = _BOUNDARY.fullmatch(content_type.strip())
    if found is None:
        return "The form did not come as a browser sends a file."
    mark = b"--" + (found[1] or found[2]).encode("ascii", "replace")
    if not body.startswith(mark + b"\r\n"):
        return "The form does not begin as it says it does."
    end = body.find(b"\r\n" + mark, len(mark))
    if end < 0 or body[end + len(mark) + 2 :].strip() != b"--":
        return "The form holds another number of files than one, or it was cut off."
    head, gap, content = body[len(mark) + 2 : end].partition(b"\r\n\r\n")
    if not gap or len(head) > _HEADERS_LARGEST:
        return "The file in the form has no description."
    if len(_NAMED.findall(head.replace(b"\r\n", b"\n"))) != 1:
        return f"The form has no field {FIELD}."
    return content or "No file was chosen."
