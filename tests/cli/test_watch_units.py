"""The shipped files that start a watch: read by what will read them, and their commands by our own parser."""

from __future__ import annotations

import configparser
import re
import shlex
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from benchseal import problems
from benchseal.cli.parser import parse

UNITS = Path(__file__).parents[2] / "pipeline" / "benchseal" / "starters" / "watch"
SERVICES = ("benchseal-watch.service", "benchseal-watch-once.service")
TASK = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"


def unit(name: str) -> configparser.ConfigParser:
    found = configparser.ConfigParser(interpolation=None, comment_prefixes=("#",), strict=True)
    found.optionxform = str  # type: ignore[assignment,method-assign]  # names keep their capitals
    found.read_string((UNITS / name).read_text(encoding="utf-8"))
    return found


def asked(command: str) -> dict[str, object]:
    """What our parser makes of the words behind the program's name, up to what the shell does next."""
    words = shlex.split(re.split(r"benchseal(?:\.exe)? (?=ingest)", command)[1].partition(";")[0], posix=False)
    return vars(parse(words))


@pytest.mark.parametrize("name", SERVICES)
def test_a_service_runs_a_command_the_program_knows(name: str) -> None:
    service = unit(name)["Service"]
    command = shlex.split(service["ExecStart"])
    assert command[:2] == ["/bin/sh", "-c"]
    found = asked(command[2])
    folder = unit(name)["Unit"]["RequiresMountsFor"]
    assert (found["watch"], found["secret_fd"], found["files"]) == (folder, 0, [])
    assert found["once"] is (service["Type"] == "oneshot")
    site = service["Environment"].partition("=")[2]
    assert service["ReadWritePaths"].split() == [site, folder]
    credential = service["LoadCredentialEncrypted"].partition(":")[0]
    assert f'"$CREDENTIALS_DIRECTORY/{credential}" |' in command[2]


def test_what_is_not_tried_again() -> None:
    """A wrong password tried every half minute would lock the account."""
    never = set(map(int, unit(SERVICES[0])["Service"]["RestartPreventExitStatus"].split()))
    assert never >= {problems.EXIT_USAGE, problems.EXIT_SETTINGS, problems.EXIT_INPUT, problems.EXIT_NOT_ALLOWED}
    assert not never & {problems.EXIT_FAULT, problems.EXIT_BUSY}
    fine = set(map(int, unit(SERVICES[1])["Service"]["SuccessExitStatus"].split()))
    assert fine == {problems.EXIT_INPUT, problems.EXIT_BUSY}


def test_the_timer_starts_the_service_of_its_name() -> None:
    assert (UNITS / "benchseal-watch-once.service").is_file()
    assert dict(unit("benchseal-watch-once.timer")["Timer"]).keys() == {"OnBootSec", "OnUnitInactiveSec", "AccuracySec"}


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd here")
@pytest.mark.parametrize("name", [*SERVICES, "benchseal-watch-once.timer"])
def test_systemd_understands_every_line(name: str, tmp_path: Path) -> None:
    for each in UNITS.iterdir():
        shutil.copy(each, tmp_path)
    command = ["systemd-analyze", "verify", "--man=no", str(tmp_path / name)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
    about = [line for line in done.stderr.splitlines() if "benchseal" in line]
    assert (done.returncode, about) == (0, []), done.stderr


def test_the_task_of_windows() -> None:
    """Read as XML and by its words; no Task Scheduler was at hand to load it."""
    data = (UNITS / "benchseal-watch.xml").read_bytes()
    assert data[:2] == b"\xff\xfe"
    task = ET.fromstring(data)  # noqa: S314  our own file
    assert task.tag == f"{TASK}Task"

    def text(path: str) -> str:
        found = task.findtext("/".join(f"{TASK}{name}" for name in path.split("/")))
        assert found is not None, path
        return found

    assert text("Settings/MultipleInstancesPolicy") == "IgnoreNew"
    assert text("Settings/ExecutionTimeLimit") == "PT0S"
    assert text("Principals/Principal/RunLevel") == "LeastPrivilege"
    assert text("Actions/Exec/Command") == "powershell.exe"
    command = text("Actions/Exec/Arguments")
    found = asked(command)
    assert (found["watch"], found["secret_fd"], found["once"]) == ("D:\\instruments", 0, False)
    assert "Password | " in command
    # a program that is not there sets no code, and the shell alone would end with 0
    assert command.endswith('; if ($null -eq $LASTEXITCODE) { exit 3 }; exit $LASTEXITCODE"')


@pytest.mark.parametrize("path", sorted(UNITS.iterdir()), ids=lambda path: path.name)
def test_no_secret_lies_in_them(path: Path) -> None:
    text = path.read_bytes().decode("utf-16" if path.suffix == ".xml" else "utf-8")
    assert not re.search(r"password\s*[:=]\s*\S", text, re.IGNORECASE)
