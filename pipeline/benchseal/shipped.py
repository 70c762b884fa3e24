"""The shipped, read-only files: JSON Schemas, report templates and starters.

A wheel carries ``schemas/`` and ``report_templates/`` inside the package; a checkout keeps them at the
top level, two folders up. Nothing else may know where they are.
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable


def _home() -> Traversable:
    packaged = files("benchseal")
    return packaged if packaged.joinpath("schemas").is_dir() else Path(__file__).parents[2]


def schema(name: str) -> str:
    """Text of one shipped JSON Schema, for instance ``method`` or ``calc/calibration``."""
    return _home().joinpath(f"schemas/{name}.schema.json").read_text(encoding="utf-8")


def template(name: str) -> str:
    """Text of one shipped report template."""
    return _home().joinpath(f"report_templates/{name}").read_text(encoding="utf-8")


def template_bytes(name: str) -> bytes:
    """Bytes of one shipped file beside the templates (a font, a colour profile)."""
    return _home().joinpath(f"report_templates/{name}").read_bytes()


def starter(name: str) -> str:
    """Text of one starter document, for instance ``methods/lead-furnace.yaml``."""
    return files("benchseal").joinpath(f"starters/{name}").read_text(encoding="utf-8")
