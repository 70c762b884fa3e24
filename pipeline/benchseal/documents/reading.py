"""Controlled documents: YAML, judged by schema and rules, to a typed value and its canonical bytes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any, TypeAlias

from benchseal.documents.judge import Fault, schema_of, shape_faults
from benchseal.documents.tree import Plain, Text, Tree, read_tree
from benchseal.problems import Problem
from benchseal.records.balance_layout import BalanceLayout
from benchseal.records.certificate_form import CertificateForm
from benchseal.records.certificate_template import CertificateTemplate
from benchseal.records.import_profile import ImportProfile
from benchseal.records.label_form import LabelForm
from benchseal.records.layout import Layout
from benchseal.records.letterhead import Letterhead
from benchseal.records.method import Method
from benchseal.records.policy import Policy
from benchseal.records.profile import Profile
from benchseal.records.shape import record_bytes, record_of
from benchseal.records.site_rules import SiteRules
from benchseal.records.specification import Specification

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

DocumentValue: TypeAlias = (
    Method
    | Specification
    | Layout
    | Profile
    | ImportProfile
    | BalanceLayout
    | SiteRules
    | Policy
    | LabelForm
    | CertificateForm
    | Letterhead
    | CertificateTemplate
)
MOST_LISTED = 50
_WHOLE = re.compile("-?(0|[1-9][0-9]{0,8})")


@dataclass(frozen=True, slots=True)
class ControlledDocument:
    """A document that fits its schema and rules; canonical: the bytes that are approved and hashed."""

    kind: str
    id: str
    value: DocumentValue
    canonical: bytes


@dataclass(frozen=True, slots=True)
class _Kind:
    """record: what the document becomes. rules: module and function of its rules beyond the schema, or empty."""

    record: type[DocumentValue]
    rules: str


# One line for each kind of controlled document; schemas/<kind>.schema.json is its shape.
_KINDS = {
    "method": _Kind(Method, "benchseal.documents.rules_method:method_faults"),
    "specification": _Kind(Specification, "benchseal.documents.rules_specification:specification_faults"),
    "layout": _Kind(Layout, "benchseal.documents.rules_layout:layout_faults"),
    "profile": _Kind(Profile, ""),
    "import_profile": _Kind(ImportProfile, "benchseal.documents.rules_import_profile:import_profile_faults"),
    "balance_layout": _Kind(BalanceLayout, "benchseal.documents.rules_balance_layout:balance_layout_faults"),
    "policy": _Kind(Policy, ""),
    "site_rules": _Kind(SiteRules, "benchseal.documents.rules_site:site_rules_faults"),
    "label_form": _Kind(LabelForm, "benchseal.documents.rules_label_form:label_form_faults"),
    "certificate_form": _Kind(CertificateForm, "benchseal.documents.rules_certificate_form:certificate_form_faults"),
    "letterhead": _Kind(Letterhead, "benchseal.documents.rules_letterhead:letterhead_faults"),
    "certificate_template": _Kind(CertificateTemplate, ""),
}


def read_document(data: bytes, source: str) -> ControlledDocument | tuple[Problem, ...]:
    """The document in ``data``, by its ``kind`` key; or every problem with line and column of ``source``."""
    tree = read_tree(data, source)
    if not isinstance(tree, Tree):
        return tree
    kind = tree.value.get("kind") if isinstance(tree.value, dict) else None
    if not isinstance(kind, str) or kind not in _KINDS:
        return (_unknown_kind(tree, kind, source),)
    value = typed_text(tree.value, schema_of(kind), schema_of(kind))
    faults = shape_faults(kind, value)
    if not faults:
        record = record_of(_KINDS[kind].record, value)
        faults = tuple(_rule_faults(kind, record))
        if not faults:
            return ControlledDocument(kind, record.id, record, record_bytes(record))
    return tuple(_placed(fault, tree, source) for fault in faults[:MOST_LISTED])


def _unknown_kind(tree: Tree, kind: object, source: str) -> Problem:
    found = f"'{kind[:40]}'" if isinstance(kind, str) else "nothing"
    what = f"'kind' says {found}; known: {', '.join(_KINDS)}."
    return Problem("documents.kind-unknown", tree.where(source, ("kind",)), what, "Begin the document with its kind.")


def _rule_faults(kind: str, record: DocumentValue) -> Iterator[Fault]:
    module, _, name = _KINDS[kind].rules.partition(":")
    if name:
        rules: Callable[[DocumentValue], Iterator[Fault]] = getattr(import_module(module), name)
        yield from rules(record)


def _placed(fault: Fault, tree: Tree, source: str) -> Problem:
    return Problem(fault.code, tree.where(source, fault.path, at_key=fault.at_key), fault.what, fault.remedy)


def typed_text(value: Text, schema: dict[str, Any], root: dict[str, Any]) -> Any:  # noqa: ANN401  JSON of any shape
    """Unquoted text turned into whole numbers and truth values where, and only where, the schema wants them."""
    if "$ref" in schema:
        return typed_text(value, root["$defs"][schema["$ref"].removeprefix("#/$defs/")], root)
    if isinstance(value, dict):
        known, other = schema.get("properties", {}), schema.get("additionalProperties")
        parts = {key: known.get(key, other if isinstance(other, dict) else {}) for key in value}
        return {key: typed_text(part, parts[key], root) for key, part in value.items()}
    if isinstance(value, list):
        return [typed_text(item, schema.get("items", {}), root) for item in value]
    if isinstance(value, Plain) and schema.get("type") == "integer" and _WHOLE.fullmatch(value):
        return int(value)
    if isinstance(value, Plain) and schema.get("type") == "boolean" and value in {"true", "false"}:
        return value == "true"
    return str(value)
