"""A quick yes for values that fit a schema: closures made from the schema itself.

It may only say yes. Where it cannot tell, or meets a keyword it does not know, it does not say yes, and the judge
decides (architecture: one fast path rule). A property test holds both together.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeAlias

Yes: TypeAlias = Callable[[object], bool]

# Signs behind the line end, ranges of them, groups and repeats; a bare point or ``[^`` could stand for a line end.
_WITHOUT_LINE_END = re.compile(r"\^(?:[A-Za-z0-9\[\](){}?+*,:_|-]|\\\.)*\$")
_SILENT = {"$schema", "$id", "title", "description", "$defs", "type"}


def quick_yes(schema: dict[str, Any]) -> Yes:
    """A function that says True only for values that fit ``schema``."""
    return _of(schema, schema, {})


def _never(_: object) -> bool:
    return False


def _of(schema: object, root: dict[str, Any], made: dict[str, Yes]) -> Yes:
    if not isinstance(schema, dict):
        return _never
    if "$ref" in schema:
        return _reference(schema, root, made)
    keywords = set(schema) - _SILENT
    if keywords in ({"const"}, {"enum"}):
        return _one_of((schema["const"],) if "const" in keywords else tuple(schema["enum"]))
    known, make = _BY_TYPE.get(str(schema.get("type")), (set(), _unknown))
    return make(schema, root, made) if keywords <= known else _never


def _reference(schema: dict[str, Any], root: dict[str, Any], made: dict[str, Yes]) -> Yes:
    name = str(schema["$ref"]).removeprefix("#/$defs/")
    if set(schema) - _SILENT != {"$ref"} or name not in root.get("$defs", {}):
        return _never
    if name not in made:
        made[name] = _never  # a schema that contains itself is left to the judge
        made[name] = _of(root["$defs"][name], root, made)
    return made[name]


def _one_of(allowed: tuple[object, ...]) -> Yes:
    if not all(isinstance(term, str) for term in allowed):
        return _never
    terms = frozenset(allowed)
    return lambda value: isinstance(value, str) and value in terms


def _unknown(_: dict[str, Any], __: dict[str, Any], ___: dict[str, Yes]) -> Yes:
    return _never


def _boolean(_: dict[str, Any], __: dict[str, Any], ___: dict[str, Yes]) -> Yes:
    return lambda value: value is True or value is False


def _string(schema: dict[str, Any], _: dict[str, Any], __: dict[str, Yes]) -> Yes:
    least, most = schema.get("minLength", 0), schema.get("maxLength", 1 << 62)
    pattern = schema.get("pattern")
    if pattern is None:
        return lambda value: type(value) is str and least <= len(value) <= most
    if not (pattern.startswith("^") and pattern.endswith("$")) or "|" in re.sub(r"\(.*\)", "", pattern):
        return _never
    whole = re.compile(pattern[1:-1]).fullmatch
    return lambda value: type(value) is str and least <= len(value) <= most and whole(value) is not None


def _integer(schema: dict[str, Any], _: dict[str, Any], __: dict[str, Yes]) -> Yes:
    least, most = schema.get("minimum", -(1 << 62)), schema.get("maximum", 1 << 62)
    return lambda value: type(value) is int and least <= value <= most


def _array(schema: dict[str, Any], root: dict[str, Any], made: dict[str, Yes]) -> Yes:
    least, most = schema.get("minItems", 0), schema.get("maxItems", 1 << 62)
    item = _of(schema.get("items"), root, made)
    part = schema.get("items")
    if isinstance(part, dict) and set(part) - _SILENT == {"$ref"}:
        part = root.get("$defs", {}).get(str(part["$ref"]).removeprefix("#/$defs/"))
    at_once = None if item is _never else _all_at_once(part)
    if at_once is None:
        return lambda value: type(value) is list and least <= len(value) <= most and all(map(item, value))
    return lambda value: type(value) is list and least <= len(value) <= most and (not value or at_once(value))


def _all_at_once(schema: object) -> Callable[[list[Any]], bool] | None:
    """The same answer as each item alone would get, for a list of texts or of whole numbers that is not empty."""
    if not isinstance(schema, dict):
        return None
    keywords = set(schema) - _SILENT
    if keywords == {"enum"}:
        terms = frozenset(schema["enum"])
        return lambda values: set(map(type, values)) == {str} and terms.issuperset(values)
    if schema.get("type") == "integer" and keywords <= {"minimum", "maximum"}:
        lowest, highest = schema.get("minimum", -(1 << 62)), schema.get("maximum", 1 << 62)
        return lambda values: set(map(type, values)) == {int} and lowest <= min(values) and max(values) <= highest
    if schema.get("type") == "string" and keywords <= {"pattern", "minLength", "maxLength"}:
        return _texts_at_once(schema)
    return None


def _texts_at_once(schema: dict[str, Any]) -> Callable[[list[Any]], bool] | None:
    """Texts as lines of one text: only for a pattern that no line end can fit, so that each line is one item."""
    least, most = schema.get("minLength", 0), schema.get("maxLength", 1 << 62)
    pattern = schema.get("pattern")
    if pattern is not None and _WITHOUT_LINE_END.fullmatch(pattern) is None:
        return None
    lines = None if pattern is None else re.compile(f"(?:(?:{pattern[1:-1]})\n)*+").fullmatch

    def yes(values: list[Any]) -> bool:
        if set(map(type, values)) != {str}:
            return False
        different = set(values)
        lengths = set(map(len, different))
        if not least <= min(lengths) <= max(lengths) <= most:
            return False
        whole = "\n".join((*different, ""))
        return lines is None or (whole.count("\n") == len(different) and lines(whole) is not None)

    return yes


def _object(schema: dict[str, Any], root: dict[str, Any], made: dict[str, Yes]) -> Yes:
    known = {name: _of(part, root, made) for name, part in schema.get("properties", {}).items()}
    required = frozenset(schema.get("required", ()))
    other = (
        _never if schema.get("additionalProperties") is False else _of(schema.get("additionalProperties"), root, made)
    )
    name_fits = _of(schema["propertyNames"], root, made) if "propertyNames" in schema else None

    def yes(value: object) -> bool:
        if type(value) is not dict or not required <= value.keys():
            return False
        if name_fits is not None and not all(map(name_fits, value)):
            return False
        return all(known.get(name, other)(part) for name, part in value.items())

    return yes


_BY_TYPE: dict[str, tuple[set[str], Callable[[dict[str, Any], dict[str, Any], dict[str, Yes]], Yes]]] = {
    "string": ({"pattern", "minLength", "maxLength"}, _string),
    "integer": ({"minimum", "maximum"}, _integer),
    "boolean": (set(), _boolean),
    "array": ({"items", "minItems", "maxItems"}, _array),
    "object": ({"properties", "required", "additionalProperties", "propertyNames"}, _object),
}
