"""The shipped, read-only files: JSON Schemas, report templates, starters and the lock file.

A wheel carries ``schemas/``, ``report_templates/`` and ``requirements/runtime.lock`` inside the package; a checkout
keeps them at the top level, two folders up. Nothing else may know where they are.
"""

from __future__ import annotations

import hashlib
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchseal.problems import Refusal, Stopped
from benchseal.shipped_templates import SHA256

if TYPE_CHECKING:
    from collections.abc import Iterator
    from importlib.resources.abc import Traversable


_WHAT: Final = "it is not the file that came with this version of the program; no paper is made by it."
_REMEDY: Final = "Find out who changed it (`benchseal qualify iq` names every such file), then install again."


def _home() -> Traversable:
    packaged = files("benchseal")
    return packaged if packaged.joinpath("schemas").is_dir() else Path(__file__).parents[2]


def lock() -> bytes:
    """The lock file: which version of each library this version of the program was tested with."""
    return _home().joinpath("requirements/runtime.lock").read_bytes()


def all_files() -> Iterator[tuple[str, bytes]]:
    """Name and bytes of every file that came with the program, sorted; the same in a wheel and in a checkout."""
    found = dict(_under(files("benchseal"), ""))
    for folder in ("schemas", "report_templates", "requirements"):
        if f"{folder}/" not in {name[: len(folder) + 1] for name in found}:
            found |= _under(_home().joinpath(folder), f"{folder}/")
    kept = (name for name in found if "__pycache__" not in name and not name.endswith("requirements/test.lock"))
    for name in sorted(kept):
        yield name, found[name].read_bytes()


def _under(folder: Traversable, prefix: str) -> Iterator[tuple[str, Traversable]]:
    for one in folder.iterdir():
        if one.is_dir():
            yield from _under(one, f"{prefix}{one.name}/")
        else:
            yield f"{prefix}{one.name}", one


def schema(name: str) -> str:
    """Text of one shipped JSON Schema, for instance ``method`` or ``calc/calibration``."""
    return _home().joinpath(f"schemas/{name}.schema.json").read_text(encoding="utf-8")


def interface_description() -> str:
    """Text of the OpenAPI description of the reading interface."""
    return _home().joinpath("schemas/interface.openapi.json").read_text(encoding="utf-8")


class ChangedTemplateError(Stopped):
    """A template or a font on disk is not the one that came with this version: nothing is printed by it."""


def template(name: str) -> str:
    """Text of one shipped report template. Raises ChangedTemplateError."""
    return template_bytes(name).decode("utf-8")


def template_bytes(name: str) -> bytes:
    """Bytes of one shipped template, or of a file beside them (a style, a font). Raises ChangedTemplateError."""
    data = _home().joinpath(f"report_templates/{name}").read_bytes()
    if _changed(name, data):
        raise ChangedTemplateError(Refusal("paper.template-changed", f"report_templates/{name}", _WHAT, _REMEDY))
    return data


def changed_templates() -> tuple[str, ...]:
    """Names of the files of the templates that are not those of this version, or are missing; sorted."""
    folder = _home().joinpath("report_templates")
    found = {name: one.read_bytes() for name, one in _under(folder, "")}
    return tuple(name for name in sorted(SHA256) if name not in found or _changed(name, found[name]))


def _changed(name: str, data: bytes) -> bool:
    return hashlib.sha256(data).hexdigest() != SHA256.get(name)


def set_digest(*names: str) -> str:
    """SHA-256 of several files of the templates: of their names and digests as this version has them, line by line."""
    return hashlib.sha256("".join(f"{name} {SHA256[name]}\n" for name in sorted(names)).encode()).hexdigest()


def templates() -> Traversable:
    """The folder of the report templates, for whoever has to let them be read."""
    return _home().joinpath("report_templates")


def starter_bytes(name: str) -> bytes:
    """Bytes of one starter that is no text."""
    return files("benchseal").joinpath(f"starters/{name}").read_bytes()


def starter(name: str) -> str:
    """Text of one starter document, for instance ``methods/lead-furnace.yaml``."""
    return files("benchseal").joinpath(f"starters/{name}").read_text(encoding="utf-8")
