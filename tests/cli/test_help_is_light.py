"""Help, version and wrong usage load the standard library and nothing else, so that they answer at once."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

PIPELINE = Path(__file__).parents[2] / "pipeline"

# Run in a fresh interpreter: what is loaded between before and after, by its top name.
PROBE = """
import contextlib, io, json, sys
before = set(sys.modules)
sys.argv = ["benchseal", *sys.argv[1:]]
said = io.StringIO()
with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said), contextlib.suppress(SystemExit):
    from benchseal.cli import main
    main()
tops = {name.partition(".")[0] for name in sys.modules.keys() - before}
foreign = tops - sys.stdlib_module_names - {"benchseal"}
print(json.dumps({"said": said.getvalue(), "foreign": sorted(foreign), "rooms": "benchseal" in tops}))
"""


def probe(arguments: list[str], pipeline: Path = PIPELINE) -> dict[str, object]:
    ran = subprocess.run(  # noqa: S603  our own interpreter and text
        [sys.executable, "-c", PROBE, *arguments],
        env=os.environ | {"PYTHONPATH": str(pipeline)},
        check=False,
        capture_output=True,
        encoding="utf-8",
    )
    assert ran.returncode == 0, ran.stderr
    seen: dict[str, object] = json.loads(ran.stdout)
    return seen


@pytest.mark.parametrize(
    "arguments",
    [["--help"], ["--version"], ["no-such-command"], ["verify", "--help"], ["demo", "--help"]],
    ids=" ".join,
)
def test_only_the_standard_library_is_loaded(arguments: list[str]) -> None:
    seen = probe(arguments)
    assert seen["rooms"]
    assert seen["said"]
    assert seen["foreign"] == []


def test_a_heavy_import_would_be_seen(tmp_path: Path) -> None:
    room = tmp_path / "benchseal" / "cli"
    room.mkdir(parents=True)
    (room.parent / "__init__.py").touch()
    (room / "__init__.py").write_text("def main():\n    import jinja2\n    print('help')\n", encoding="utf-8")
    seen = probe(["--help"], tmp_path)
    assert seen["said"] == "help\n"
    assert "jinja2" in seen["foreign"]  # type: ignore[operator]  # a list of text, as PROBE prints it
