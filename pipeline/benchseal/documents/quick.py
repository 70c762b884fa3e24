"""A quick yes for values that fit a schema: closures made from the schema itself.

It may only say yes. Where it cannot tell, or meets a keyword it does not know, it does not say yes, and the judge
decides (architecture: one fast path rule). A property test holds both together.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeAlias

Yes: TypeAlias = Callable[[object], bool]

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
    return lambda value: type(value) is list and least <= len(value) <= most and all(map(item, value))


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
