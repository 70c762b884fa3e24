"""YAML to plain text values, each with its line and column.

Every scalar stays the text that stands in the file: ``0.50`` keeps its digits and ``no`` stays ``no``. Aliases,
anchors, tags, duplicate keys, a second document and deep nesting are refused.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from benchseal.documents.signs import unfit_in_text
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.documents.judge import Path

LARGEST_DOCUMENT = 2**20
DEEPEST = 32
Text: TypeAlias = "str | list[Text] | dict[str, Text]"


class Plain(str):
    """A scalar written without quotes: only such a one may become a number or a truth value."""

    __slots__ = ()


@dataclass(slots=True)
class Tree:
    """A document as text. values, keys: path to (line, column) of the value, and of its key."""

    value: Text = ""
    values: dict[Path, tuple[int, int]] = field(default_factory=dict)
    keys: dict[Path, tuple[int, int]] = field(default_factory=dict)

    def where(self, source: str, path: Path, *, at_key: bool = False) -> str:
        """``source, line N, column M`` of the longest part of ``path`` the document has."""
        places = self.keys if at_key and path in self.keys else self.values
        while path and path not in places:
            path = path[:-1]
        line, column = places.get(path, (1, 1))
        return f"{source}, line {line}, column {column}"


class _Refused(Exception):  # noqa: N818  carries a problem out of the builder
    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.what)
        self.problem = problem


def read_tree(data: bytes, source: str) -> Tree | tuple[Problem, ...]:
    """The document's tree, or what keeps it from being one."""
    if len(data) > LARGEST_DOCUMENT:
        what = f"The document has {len(data)} bytes; at most {LARGEST_DOCUMENT} are read."
        return (Problem("documents.too-large", source, what, "Split it, or remove what does not belong in it."),)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        what = f"Byte {fault.start + 1} (hexadecimal {data[fault.start : fault.start + 1].hex()}) is not UTF-8 text."
        return (Problem("documents.byte-undecodable", source, what, "Save the document as UTF-8."),)
    builder = _Builder(source)
    try:
        builder.build(YAML(typ="rt", pure=True).parse(text))
    except _Refused as refused:
        return (refused.problem,)
    except YAMLError as fault:
        return (_not_yaml(fault, source),)
    except (ValueError, IndexError) as fault:  # the YAML reader's own slips
        what = f"The document is not YAML the reader understands ({type(fault).__name__})."
        return (Problem("documents.not-yaml", source, what, "Write it as plain YAML 1.2."),)
    return (*builder.problems,) if builder.problems else builder.tree


def _not_yaml(fault: YAMLError, source: str) -> Problem:
    where, what = source, "The text is not YAML."
    if isinstance(fault, MarkedYAMLError):
        mark = fault.problem_mark or fault.context_mark
        where = f"{source}, line {mark.line + 1}, column {mark.column + 1}" if mark else source
        what = f"The text is not YAML: {fault.problem or fault.context}."
    return Problem("documents.not-yaml", where, what, "Check indentation, quotes and brackets at this place.")


class _Builder:
    """Builds a tree from parser events."""

    def __init__(self, source: str) -> None:
        self.tree = Tree()
        self.problems: list[Problem] = []
        self._source = source

    def build(self, events: Iterator[Any]) -> None:
        documents = 0
        for event in events:
            if isinstance(event, DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._refuse(
                        event, "documents.several", "A second document begins here.", "One document, one file."
                    )
            elif isinstance(event, MappingStartEvent | SequenceStartEvent | ScalarEvent | AliasEvent):
                self.tree.value = self._value(event, events, ())

    def _value(self, event: Event, events: Iterator[Any], path: Path) -> Text:
        self._plain_only(event)
        self.tree.values[path] = _place(event)
        if len(path) > DEEPEST:
            self._refuse(event, "documents.too-deep", f"More than {DEEPEST} levels.", "Write it flatter.")
        if isinstance(event, MappingStartEvent):
            return self._mapping(events, path)
        if isinstance(event, SequenceStartEvent):
            return self._sequence(events, path)
        text = self._text(event)
        return text if getattr(event, "style", None) else Plain(text)

    def _sequence(self, events: Iterator[Any], path: Path) -> Text:
        items: list[Text] = []
        for event in events:
            if isinstance(event, SequenceEndEvent):
                break
            items.append(self._value(event, events, (*path, len(items))))
        return items

    def _mapping(self, events: Iterator[Any], path: Path) -> Text:
        found: dict[str, Text] = {}
        for event in events:
            if isinstance(event, MappingEndEvent):
                break
            self._plain_only(event)
            if not isinstance(event, ScalarEvent):
                self._refuse(event, "documents.key-not-text", "A key is not plain text.", "Use words as keys.")
            key = self._text(event)
            if key in found:
                where = self._where(event)
                first = self.tree.keys[(*path, key)][0]
                what = f"'{key[:40]}' is given twice; the first stands in line {first}."
                self.problems.append(Problem("documents.key-twice", where, what, "Remove one of them."))
            else:
                self.tree.keys[(*path, key)] = _place(event)
            found.setdefault(key, self._value(next(events), events, (*path, key)))
        return found

    def _text(self, event: Event) -> str:
        """A scalar's text: an escape can bring in what the file itself does not show."""
        text = unicodedata.normalize("NFC", event.value if isinstance(event, ScalarEvent) else "")
        if found := unfit_in_text(text):
            what = f"The text holds {found[1]}, a control or invisible sign."
            self._refuse(event, "documents.control-sign", what, "Write the text again without it.")
        return text

    def _plain_only(self, event: Event) -> None:
        if isinstance(event, AliasEvent) or getattr(event, "anchor", None) is not None:
            what = "Anchors and aliases (& and *) are not read."
            self._refuse(event, "documents.alias", what, "Write the value out; quote a text that begins with & or *.")
        if getattr(event, "tag", None) is not None:
            self._refuse(
                event, "documents.tag", "Tags (!) are not read.", "Remove it; quote a text that begins with !."
            )

    def _where(self, event: Event) -> str:
        line, column = _place(event)
        return f"{self._source}, line {line}, column {column}"

    def _refuse(self, event: Event, code: str, what: str, remedy: str) -> None:
        raise _Refused(Problem(code, self._where(event), what, remedy))


def _place(event: Any) -> tuple[int, int]:  # noqa: ANN401  ruamel's marks are untyped
    return event.start_mark.line + 1, event.start_mark.column + 1
