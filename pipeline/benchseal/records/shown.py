"""Text from files and names, as it may be shown: on a terminal, on a page."""

from __future__ import annotations

from unicodedata import category

_NOT_SHOWN = {"Cc", "Cf", "Cs", "Zl", "Zp"}  # Unicode: control, format, half a surrogate pair, line and paragraph end


def one_line(text: str) -> str:
    """Text as one line that cannot move the cursor or turn what follows: control and direction marks as escapes."""
    if text.isprintable():
        return text
    return "".join(
        letter.encode("unicode_escape").decode() if category(letter) in _NOT_SHOWN else letter for letter in text
    )
