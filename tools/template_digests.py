"""Write ``shipped_templates.py``: the SHA-256 of every template, style and font. Run it after changing one of them."""

from __future__ import annotations

import hashlib
from pathlib import Path

_ROOT = Path(__file__).parents[1]
_FOLDER = _ROOT / "report_templates"
_HEAD = '''"""SHA-256 of each template, style and font of this version. Made by ``tools/template_digests.py``."""

from __future__ import annotations

from typing import Final

SHA256: Final = {
'''


def table() -> str:
    """The text of the module, from the files as they are."""
    found = {path.relative_to(_FOLDER).as_posix(): path.read_bytes() for path in _FOLDER.rglob("*") if path.is_file()}
    lines = [f'    "{name}": "{hashlib.sha256(found[name]).hexdigest()}",\n' for name in sorted(found)]
    return f"{_HEAD}{''.join(lines)}}}\n"


if __name__ == "__main__":
    (_ROOT / "pipeline/benchseal/shipped_templates.py").write_text(table(), encoding="utf-8")
