"""Schemas and dataclasses cannot drift apart: names, required fields, nesting, kinds of value, words."""

from __future__ import annotations

import dataclasses
import json
import types
import typing
from enum import EnumType
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import pytest

from benchseal import shipped
from benchseal.records.acknowledgement import Acknowledgement
from benchseal.records.balance_layout import BalanceLayout
from benchseal.records.certificate_form import CertificateForm
from benchseal.records.certificate_template import CertificateTemplate
from benchseal.records.entries import Entry
from benchseal.records.evidence import Evidence, Supplement
from benchseal.records.import_profile import ImportProfile
from benchseal.records.label_form import LabelForm
from benchseal.records.layout import Layout
from benchseal.records.letterhead import Letterhead
from benchseal.records.manifest import Manifest, Packet
from benchseal.records.method import Glassware, Method
from benchseal.records.plan import PlanRow
from benchseal.records.policy import Policy
from benchseal.records.preparation import Portion
from benchseal.records.profile import Profile
from benchseal.records.registers import Customer, Instrument, SampleRow, StandardLot
from benchseal.records.results import RunWork
from benchseal.records.run import RunDocument
from benchseal.records.signatures import Meaning
from benchseal.records.site_rules import SiteRules
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Iterator

Hint: TypeAlias = Any  # an annotation: a class, a union, a Literal
_PAIRS: dict[str, type[Any]] = {
    "method": Method,
    "specification": Specification,
    "layout": Layout,
    "profile": Profile,
    "acknowledgement": Acknowledgement,
    "site_rules": SiteRules,
    "policy": Policy,
    "label_form": LabelForm,
    "import_profile": ImportProfile,
    "balance_layout": BalanceLayout,
    "plan-row": PlanRow,
    "glassware-row": Glassware,
    "certificate_form": CertificateForm,
    "letterhead": Letterhead,
    "certificate_template": CertificateTemplate,
    "preparation-row": Portion,
    "sample-row": SampleRow,
    "standard-lot-row": StandardLot,
    "instrument-row": Instrument,
    "customer-row": Customer,
    "run-document": RunDocument,
    "run-work": RunWork,
    "evidence": Evidence,
    "supplement": Supplement,
    "ledger-entry": Entry,
    "manifest": Manifest,
    "packet": Packet,
}
_SCHEMAS = Path(__file__).parents[2] / "schemas"


def test_every_schema_has_its_record() -> None:
    assert {path.name.removesuffix(".schema.json") for path in _SCHEMAS.glob("*.schema.json")} == set(_PAIRS)


@pytest.mark.parametrize("name", sorted(_PAIRS))
def test_schema_and_dataclass_say_the_same(name: str) -> None:
    schema = json.loads(shipped.schema(name))
    assert list(_differences(_PAIRS[name], schema, schema, name)) == []


def _differences(kind: Hint, schema: dict[str, Any], root: dict[str, Any], at: str) -> Iterator[str]:
    if "$ref" in schema:
        schema = root["$defs"][schema["$ref"].removeprefix("#/$defs/")]
    origin: object = typing.get_origin(kind)
    arguments = [one for one in typing.get_args(kind) if one is not types.NoneType]  # a word that is not given
    if origin in {typing.Union, types.UnionType} and len(arguments) == 1:
        yield from _differences(arguments[0], schema, root, at)
    elif dataclasses.is_dataclass(kind):
        yield from _object_differences(kind, schema, root, at)
    elif origin is tuple:
        yield from _require(schema.get("type") == "array", f"{at}: not an array")
        yield from _differences(arguments[0], schema.get("items", {}), root, f"{at}[]")
    elif origin is dict:
        yield from _require(schema.get("type") == "object", f"{at}: not an object")
        if "additionalProperties" in schema:
            yield from _differences(arguments[1], schema["additionalProperties"], root, f"{at}{{}}")
    elif origin in {typing.Literal, typing.Union, types.UnionType} or isinstance(kind, EnumType):
        yield from _choice_differences(kind, schema, root, at)
    else:
        yield from _scalar_differences(kind, schema, at)


def _object_differences(kind: Hint, schema: dict[str, Any], root: dict[str, Any], at: str) -> Iterator[str]:
    hints, fields = typing.get_type_hints(kind), dataclasses.fields(kind)
    names = [field.name for field in fields]
    needed = {
        field.name
        for field in fields
        if field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING
    }
    properties = schema.get("properties", {})
    yield from _require(schema.get("additionalProperties") is False, f"{at}: unknown keys are let in")
    yield from _require(set(properties) == set(names), f"{at}: {sorted(set(properties) ^ set(names))}")
    yield from _require(set(schema.get("required", ())) == needed, f"{at}: required differs")
    for name in set(properties) & set(names):
        yield from _differences(hints[name], properties[name], root, f"{at}.{name}")


def _choice_differences(kind: Hint, schema: dict[str, Any], root: dict[str, Any], at: str) -> Iterator[str]:
    if "oneOf" in schema:
        parts = [root["$defs"][part["$ref"].removeprefix("#/$defs/")] for part in schema["oneOf"]]
        yield from _require(len(parts) == len(typing.get_args(kind)), f"{at}: other alternatives")
        for inner, part in zip(typing.get_args(kind), parts, strict=False):
            yield from _differences(inner, part, root, f"{at}|{inner.__name__}")
        return
    allowed, words = set(schema.get("enum", [schema.get("const")])), set(_words(kind))
    words -= {""} - allowed  # empty stands for a word that is not given
    yield from _require(allowed == words, f"{at}: words differ: {allowed ^ words}")


def _words(kind: Hint) -> Iterator[object]:
    if isinstance(kind, EnumType):
        yield from (str(member) for member in kind)  # type: ignore[var-annotated]
        return
    for argument in typing.get_args(kind):
        if typing.get_origin(argument) is typing.Literal:
            yield from typing.get_args(argument)
        else:
            yield argument


def _scalar_differences(kind: Hint, schema: dict[str, Any], at: str) -> Iterator[str]:
    if "const" in schema or "enum" in schema:
        allowed = schema.get("enum", [schema.get("const")])
        yield from _require(all(type(word) is kind for word in allowed), f"{at}: words of another type")
        return
    due = {str: "string", int: "integer", bool: "boolean"}.get(kind)
    yield from _require(schema.get("type") == due, f"{at}: {schema.get('type')} where {due} is due")


def _require(holds: bool, message: str) -> Iterator[str]:
    if not holds:
        yield message


def test_meanings_of_signatures() -> None:
    """SignatureStatement.meaning is text in the record; the schema knows the fixed list."""
    statement = json.loads(shipped.schema("supplement"))["$defs"]["SignatureStatement"]
    assert statement["properties"]["meaning"]["enum"] == [meaning.value for meaning in Meaning]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        pytest.param({"properties": {"portion": {"type": "string"}}}, "kind", id="a property lost"),
        pytest.param({"required": []}, "required", id="nothing required"),
        pytest.param({"additionalProperties": True}, "unknown keys", id="unknown keys let in"),
    ],
)
def test_a_drift_is_seen(change: dict[str, Any], message: str) -> None:
    schema = json.loads(shipped.schema("preparation-row"))
    assert any(message in text for text in _differences(Portion, schema | change, schema, "row"))


def test_words_that_differ_are_seen() -> None:
    schema = json.loads(shipped.schema("method").replace('"furnace"', '"oven"'))
    assert any("words differ" in text for text in _differences(Method, schema, schema, "method"))
