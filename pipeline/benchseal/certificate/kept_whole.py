"""Where a line of a narrow column may break: between groups that mean something alone, never inside one.

A number stays with its unit and its sign, words in brackets and words after a comma stay together. No word changes. A
group wider than its column still breaks between its words, but no unit at its stroke.
"""

from __future__ import annotations

from typing import Final

from markupsafe import Markup

_GROUP: Final = Markup('<span class="group">{}</span>')
_UNIT: Final = Markup('<span class="unit">{}</span>')


def groups_of(text: str) -> tuple[str, ...]:
    """``87.1 to``, ``100 %``, ``(1 of 3)``; ``portions,``, ``of limit``; ``check``, ``standard, 3``."""
    found: list[list[str]] = []
    for word in text.split(" "):
        if found and _stays(found[-1], word, after_comma=len(found) > 1 and found[-2][-1].endswith(",")):
            found[-1].append(word)
        else:
            found.append([word])
    return tuple(" ".join(group) for group in found)


def _stays(group: list[str], word: str, *, after_comma: bool) -> bool:
    """Whether a word belongs to the group before it. after_comma: whether that one stands after a comma."""
    first, before = group[0], group[-1]
    if first.startswith("("):
        return not before.endswith(")")
    if word.startswith("("):
        return False
    if before.endswith(","):
        return before[:-1].isalpha() and not any(sign.isalpha() for sign in word)
    return after_comma or not before.isalpha()


def in_groups(text: str) -> Markup:
    """The text for a template, each group of several words as one."""
    made = (_GROUP.format(_in_words(one)) if " " in one else _in_words(one) for one in groups_of(text))
    return Markup(" ").join(made)


def _in_words(group: str) -> Markup:
    """Joined as text is: what is markup already stays, the rest is escaped."""
    return Markup(" ").join(_UNIT.format(word) if "/" in word else word for word in group.split(" "))
