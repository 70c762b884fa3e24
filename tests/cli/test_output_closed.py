"""A reader that takes no more, as ``| head -1``: the command ends without a word, with the code of a broken pipe.

141 is what a shell shows of a program that died of SIGPIPE: 128 and the number of the signal (POSIX.1-2017, shell,
2.8.2, and common practice).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

QUESTION = Path(__file__).parents[2] / "fixtures/schemas/calc/calibration/good.json"
COMMANDS = {
    "answer": ["calc", str(QUESTION)],
    "help": ["--help"],
    "help of a command": ["export", "run", "--help"],
    "version": ["--version"],
    "notices as JSON": ["export", "check", "no-such-file.yaml", "--json"],
}
MAIN = ["-c", "import sys; from benchseal.cli import main; sys.exit(main())"]
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes of POSIX")


def ended(args: list[str], site: Path, *, lines: int, both: bool = False, unbuffered: str = "") -> tuple[int, bytes]:
    """Exit code, and what it said on standard error, of a command whose reader goes away after some lines."""
    reads, writes = os.pipe()
    with os.fdopen(reads, "rb", buffering=0) as reader:
        if not lines:
            reader.close()
        command = [sys.executable, *MAIN, *args]
        own = os.environ | {"BENCHSEAL_SITE": str(site), "PYTHONUNBUFFERED": unbuffered}
        errors = writes if both else subprocess.PIPE
        with subprocess.Popen(command, stdout=writes, stderr=errors, env=own) as started:  # noqa: S603
            os.close(writes)
            for _ in range(lines):
                while reader.read(1) not in {b"\n", b""}:
                    pass
            reader.close()
            _, said = started.communicate(timeout=60)
    return started.returncode, said or b""


@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("name", COMMANDS)
def test_a_reader_that_was_never_there_ends_a_command_quietly(name: str, unbuffered: str, founded: Path) -> None:
    assert ended(COMMANDS[name], founded, lines=0, unbuffered=unbuffered) == (141, b"")


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_reader_that_goes_after_one_line_ends_a_command_quietly(
    unbuffered: str, founded: Path, tmp_path: Path
) -> None:
    """Its answer is longer than a pipe and the program's own store hold together."""
    many = tmp_path / "many.json"
    asked = json.loads(QUESTION.read_text(encoding="utf-8")) | {"predict_at": [nth / 1000 for nth in range(4000)]}
    many.write_text(json.dumps(asked), encoding="utf-8")
    whole = subprocess.run([sys.executable, *MAIN, "calc", str(many)], capture_output=True, check=False)  # noqa: S603
    assert (whole.returncode, len(whole.stdout) > 100_000) == (0, True)
    assert ended(["calc", str(many)], founded, lines=1, unbuffered=unbuffered) == (141, b"")


@pytest.mark.parametrize("name", ["answer", "help", "notices"])
def test_both_outputs_into_a_pipe_nobody_reads(name: str, founded: Path) -> None:
    commands = {**COMMANDS, "notices": ["export", "check", "no-such-file.yaml"]}
    assert ended(commands[name], founded, lines=0, both=True) == (141, b"")


def test_wrong_usage_beside_a_reader_that_went_is_still_wrong_usage(founded: Path) -> None:
    code, said = ended(["export", "no-such-verb"], founded, lines=0)
    assert (code, b"--help" in said) == (2, True)


def test_an_answer_that_is_read_to_its_end_keeps_its_code(founded: Path) -> None:
    assert ended(["--version"], founded, lines=1) == (0, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the device that is always full")
@pytest.mark.parametrize("name", ["help", "answer", "notices as JSON"])
def test_an_output_on_a_full_disk_is_said_and_is_no_broken_pipe(name: str, founded: Path) -> None:
    own = os.environ | {"BENCHSEAL_SITE": str(founded), "PYTHONUNBUFFERED": ""}
    with Path("/dev/full").open("wb") as full:
        command = [sys.executable, *MAIN, *COMMANDS[name]]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False, env=own)  # noqa: S603
    assert (done.returncode, b"output.failed" in done.stderr, b"Traceback" in done.stderr) == (75, True, False)
