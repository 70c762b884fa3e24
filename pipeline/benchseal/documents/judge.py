"""The judge of shape: JSON Schema by ``jsonschema``, every fault with its path, in plain words.

``quick.py`` may say yes sooner; only this module says no.
"""

from __future__ import annotations

import difflib
import json
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeAlias

from jsonschema import Draft202012Validator, ValidationError, validators

from benchseal import shipped
from benchseal.documents.quick import Yes, quick_yes

if TYPE_CHECKING:
    from collections.abc import Iterator

Path: TypeAlias = "tuple[str | int, ...]"
LONGEST_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a value, before its place in a file is known.

    path: keys and indexes down to the value. at_key: the key is at fault, not its value.
    """

    path: Path
    code: str
    what: str
    remedy: str
    at_key: bool = False


def shape_faults(schema_name: str, value: object) -> tuple[Fault, ...]:
    """Every fault of ``value`` against a shipped schema, in order of place; nothing for a value that fits."""
    if _quick(schema_name)(value):
        return ()
    errors = sorted(_validator(schema_name).iter_errors(value), key=lambda error: [str(part) for part in error.path])
    return tuple(fault for error in errors for fault in _faults(error))


@lru_cache(maxsize=32)
def schema_of(name: str) -> dict[str, Any]:
    """A shipped schema as a value; not to be changed."""
    schema: dict[str, Any] = json.loads(shipped.schema(name))
    return schema


@lru_cache(maxsize=32)
def _quick(name: str) -> Yes:
    return quick_yes(schema_of(name))


@lru_cache(maxsize=32)
def _validator(name: str) -> Any:  # noqa: ANN401  jsonschema makes validator classes at run time
    return _STRICT(schema_of(name))


def _whole_pattern(_: object, pattern: str, value: object, __: object) -> Iterator[ValidationError]:
    """``pattern`` as ECMA 262 has it: ``$`` is the very end, not also the place before a last line end."""
    if isinstance(value, str) and (value.endswith("\n") or not re.search(pattern, value)):
        yield ValidationError(f"{value!r} does not match {pattern!r}")


_STRICT = validators.extend(  # type: ignore[no-untyped-call]  # jsonschema is partly typed
    Draft202012Validator, {"pattern": _whole_pattern}
)


def _faults(error: ValidationError) -> Iterator[Fault]:
    path: Path = tuple(error.absolute_path)
    schema = error.schema if isinstance(error.schema, dict) else {}
    match error.validator:
        case "required":
            yield from _lacking(error, path)
        case "additionalProperties" if isinstance(error.instance, dict):
            yield from _unknown_keys(error.instance, schema, path)
        case "enum" | "const":
            yield _one_of(error, schema, path)
        case "type" | "pattern" | "minLength" | "maxLength" | "minimum" | "maximum":
            due = schema.get("title") or _kind_due(schema)
            of = "a key of " if "propertyNames" in error.absolute_schema_path else ""
            what = f"{of}{_name(path)} is {_shown(error.instance)}; due: {due}."
            yield Fault(path, "documents.value-unfit", what, _hint(error.instance, schema))
        case "minItems" | "minProperties":
            # Who takes the last name out of such a list wants nothing, and would get everything.
            remedy = "Add at least one, or leave it out." if path[:1] == ("choose",) else "Add at least one."
            yield Fault(path, "documents.list-short", f"{_name(path)} must not be empty.", remedy)
        case "maxItems":
            yield Fault(
                path, "documents.list-long", f"{_name(path)} has too many items.", f"At most {error.validator_value}."
            )
        case _:
            yield _otherwise(error, path)


def _otherwise(error: ValidationError, path: Path) -> Fault:
    """What is seldom met: a thing twice in a list, keys of which one is due, forms of which none fits."""
    name, instance, alternatives = _name(path), error.instance, _alternatives(error.validator_value)
    what, remedy = f"{name}: {error.message[:200]}.", "Correct the value."
    if error.validator == "uniqueItems" and isinstance(instance, list):
        again = next(one for place, one in enumerate(instance) if one in instance[:place])
        what, remedy = f"{name} holds {_shown(again)} twice.", "Leave one of them out."
    elif error.validator in {"oneOf", "anyOf"} and alternatives and isinstance(instance, dict):
        has = " and ".join(f"'{one}'" for one in alternatives if one in instance) or "neither"
        due = " or ".join(f"'{one}'" for one in alternatives)
        what, remedy = f"{name} has {has}; due: {due}.", "Keep exactly one." if has != "neither" else "Add one of them."
    elif error.validator in {"oneOf", "anyOf"}:
        what, remedy = f"{name} has none of the forms it may have.", "Compare it with the manual's page on it."
    return Fault(path, "documents.value-unfit", what, remedy)


def _alternatives(schemas: object) -> list[str]:
    """The keys of which one is due, where that is all the alternatives say; else nothing."""
    listed = schemas if isinstance(schemas, list) else []
    names = [one["required"][0] for one in listed if set(one) == {"required"} and len(one["required"]) == 1]
    return sorted(names) if len(names) == len(listed) else []


def _lacking(error: ValidationError, path: Path) -> Iterator[Fault]:
    instance = error.instance if isinstance(error.instance, dict) else {}
    required: list[str] = error.schema["required"] if isinstance(error.schema, dict) else []
    lacking = [name for name in required if name not in instance]
    name = next(name for name in lacking if error.message.startswith(f"'{name}'"))
    part = error.schema.get("properties", {}).get(name, {}) if isinstance(error.schema, dict) else {}
    may_be_empty = str(part.get("$ref", "")).endswith(("OrEmpty", "/text"))
    remedy = f"Add '{name}'; where it does not apply, write {name}: ''." if may_be_empty else f"Add '{name}'."
    yield Fault(path, "documents.key-missing", f"'{name}' is missing{_within(path)}.", remedy)


def _unknown_keys(instance: dict[str, object], schema: dict[str, Any], path: Path) -> Iterator[Fault]:
    known = list(schema.get("properties", ()))
    for key in instance:
        if key in known:
            continue
        near = difflib.get_close_matches(key, known, n=1)
        remedy = f"Did you mean '{near[0]}'?" if near else f"Known here: {', '.join(known)}."
        what = f"'{key[:LONGEST_SHOWN]}' is not a known key{_within(path)}."
        yield Fault((*path, key), "documents.key-unknown", what, remedy, at_key=True)


def _one_of(error: ValidationError, schema: dict[str, Any], path: Path) -> Fault:
    allowed = schema["enum"] if "enum" in schema else [schema["const"]]
    text = ", ".join(f"'{term}'" for term in allowed)
    near = difflib.get_close_matches(str(error.instance), [str(term) for term in allowed], n=1)
    remedy = f"Did you mean '{near[0]}'?" if near else "Use one of them."
    what = f"{_name(path)} is {_shown(error.instance)}; due: one of {text}."
    return Fault(path, "documents.value-unknown", what, remedy)


def _kind_due(schema: dict[str, Any]) -> str:
    kinds = {"object": "keys with values", "array": "a list", "string": "text", "integer": "a whole number"}
    bounds = [f"{word} {schema[key]}" for word, key in (("from", "minimum"), ("to", "maximum")) if key in schema]
    if schema.get("minLength"):
        bounds.append(f"of at least {schema['minLength']} {'sign' if schema['minLength'] == 1 else 'signs'}")
    if "maxLength" in schema:
        bounds.append(f"{'and' if bounds else 'of'} at most {schema['maxLength']} signs")
    if "pattern" in schema:
        bounds.append(f"of the form {schema['pattern']}")
    kind = kinds.get(str(schema.get("type")), "text" if "pattern" in schema else "true or false")
    return " ".join([kind, *bounds])


def _hint(value: object, schema: dict[str, Any]) -> str:
    if "decimal" in str(schema.get("title")) and isinstance(value, str):
        if re.fullmatch(r"-?[0-9]+,[0-9]+", value):
            return f"Write {value.replace(',', '.')}: the decimal mark is a point."
        if re.fullmatch(r"-[0-9]+(\.[0-9]+)?", value):
            return "The number must not be negative."
        return "Write the number with a point and without exponent, as 0.50."
    return "Correct the value."


def _name(path: Path) -> str:
    """How a message calls a value: its key, with the number of its place in a list counted from 1."""
    if not path:
        return "the document"
    last = path[-1]
    if isinstance(last, str):
        return last
    return f"{_name(path[:-1])} no. {last + 1}" if len(path) > 1 else f"item no. {last + 1}"


def _within(path: Path) -> str:
    return f" in {_name(path)}" if path else ""


def _shown(value: object) -> str:
    match value:
        case str():
            return f"'{value}'" if len(value) <= LONGEST_SHOWN else f"'{value[: LONGEST_SHOWN - 3]}...'"
        case dict():
            return "a set of keys"
        case list():
            return "a list"
        case bool() | None:  # as a file writes them, not as Python does
            return {True: "true", False: "false", None: "nothing"}[value]
        case _:
            text = str(value)
            return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 3]}..."


def method_fault(path: Path, code: str, what: str, remedy: str) -> Fault:
    """A rule of methods broken at ``path``."""
    return Fault(path, f"documents.method-{code}", what, remedy)
