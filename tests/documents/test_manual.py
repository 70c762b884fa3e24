"""Every problem code of documents, ingest and validate stands in the manual, and no other."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
_ROOMS = ("documents", "ingest", "validate")
_OF = {
    "rules_method": "method",
    "rules_bracketing": "method",
    "rules_calibration": "method",
    "rules_checks": "method",
    "rules_conditions": "method",
    "rules_drift": "method",
    "rules_keeping": "method",
    "rules_stored": "method",
    "rules_uncertainty": "method",
    "rules_specification": "specification",
    "rules_sums": "specification-sum",
    "rules_layout": "layout",
    "rules_layout_table": "layout",
    "rules_site": "site-rules",
}
_DOTTED = re.compile(r'"((?:documents|ingest|validate)\.[a-z-]+)"')
_RULE = re.compile(r'_fault\(\s*\(.*?\)[^"]*"([a-z-]+)",', re.DOTALL)
_RULE_BY_KEY = re.compile(r'_fault\(\s*"[a-z_]+", "([a-z-]+)",')
_RULE_BY_PATH = re.compile(r'_fault\(\s*path, "([a-z-]+)",')
_SHEET = re.compile(r'RowFault\((?:nth|0), [^,]+, "([a-z-]+)",')
_DIFFERS = re.compile(r'_differs\(document, method, "([a-z_]+)"')


def _codes() -> set[str]:
    found: set[str] = set()
    for room in _ROOMS:
        for path in (ROOT / "pipeline" / "benchseal" / room).glob("*.py"):
            text = path.read_text(encoding="utf-8")
            found |= set(_DOTTED.findall(text))
            if path.stem in _OF:
                rules = [*_RULE.findall(text), *_RULE_BY_KEY.findall(text), *_RULE_BY_PATH.findall(text)]
                found |= {f"documents.{_OF[path.stem]}-{code}" for code in rules}
            found |= {f"documents.{code}" for code in _SHEET.findall(text)}
            if path.stem == "rules_import_profile":  # columns give their codes as tuples
                found |= {f"documents.{code}" for code in re.findall(r'"(import-[a-z-]+)",', text)}
            found |= {f"validate.{name.replace('_', '-')}-differs" for name in _DIFFERS.findall(text)}
    named = ("element", "technique", "background-correction")  # methods.py takes these from a list
    return found | {f"validate.{name}-differs" for name in named}


def _in_manual() -> list[str]:
    text = (ROOT / "docs" / "manual" / "problems-input.md").read_text(encoding="utf-8")
    return re.findall(r"^\| `([a-z.-]+)` \|", text, re.MULTILINE)


def test_each_code_is_in_the_manual_once() -> None:
    listed = _in_manual()
    assert len(set(listed)) == len(listed)
    # Files and runs that came before are judged at the desk.
    assert {code for code in set(listed) ^ _codes() if not code.startswith("ingest.")} == set()
    assert _codes() <= set(listed)
