"""The shipped files of schedules: read by what will read them, and their commands by our own parser."""

from __future__ import annotations

import configparser
import re
import shlex
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from ruamel.yaml import YAML

from benchseal import problems
from benchseal.cli.parser import parse

FILES = Path(__file__).parents[2] / "pipeline" / "benchseal" / "starters" / "schedule"
PAGE = Path(__file__).parents[2] / "docs" / "manual" / "schedules.md"
UNITS = ("benchseal-export.service", "benchseal-export.timer", "benchseal-status.service", "benchseal-status.timer")
TASK = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"
LOG = "/var/log/benchseal/export.jsonl"


def unit(name: str) -> configparser.ConfigParser:
    found = configparser.ConfigParser(interpolation=None, comment_prefixes=("#",), strict=True)
    found.optionxform = str  # type: ignore[assignment,method-assign]  # names keep their capitals
    found.read_string((FILES / name).read_text(encoding="utf-8"))
    return found


def asked(command: str) -> dict[str, object]:
    """What our parser makes of the words behind the program's name, up to what the shell does next. Exits on others."""
    words = re.split(r"benchseal(?:\.exe)? (?=export run|status)", command)[1]
    return vars(parse(shlex.split(re.split(r";| \|\| ", words)[0], posix=False)))


def test_the_service_of_deliveries() -> None:
    service = unit("benchseal-export.service")["Service"]
    command = shlex.split(service["ExecStart"])
    assert command[:2] == ["/bin/sh", "-c"]
    found = asked(command[2])
    assert (found["command"], found["secret_fd"], found["log"]) == ("export run", 0, LOG)
    assert Path(LOG).parent == Path("/var/log") / service["LogsDirectory"]
    site = service["Environment"].partition("=")[2]
    folder = unit("benchseal-export.service")["Unit"]["RequiresMountsFor"]
    assert service["ReadWritePaths"].split() == [site, folder]
    assert f'"$CREDENTIALS_DIRECTORY/{service["LoadCredentialEncrypted"].partition(":")[0]}" |' in command[2]
    assert service["Type"] == "oneshot"
    assert "PrivateNetwork" not in service, "a profile may send to a server"
    assert service["SuccessExitStatus"].split() == [str(problems.EXIT_BUSY)]


def test_the_service_of_monitoring() -> None:
    service = unit("benchseal-status.service")["Service"]
    command = shlex.split(service["ExecStart"])
    found = asked(command[2])
    assert (found["command"], found["secret_fd"]) == ("status", 0)
    assert str(Path(str(found["prometheus"])).parent) == service["ReadWritePaths"].split()[1]
    assert str(found["prometheus"]).endswith(".prom")
    assert f'"$CREDENTIALS_DIRECTORY/{service["LoadCredentialEncrypted"].partition(":")[0]}" |' in command[2]
    assert set(map(int, service["SuccessExitStatus"].split())) == {problems.EXIT_FINDING, problems.EXIT_BUSY}


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd here")
@pytest.mark.parametrize("name", UNITS)
def test_systemd_understands_every_line(name: str, tmp_path: Path) -> None:
    for each in FILES.iterdir():
        shutil.copy(each, tmp_path)
    command = ["systemd-analyze", "verify", "--man=no", str(tmp_path / name)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603
    about = [line for line in done.stderr.splitlines() if "benchseal" in line]
    assert (done.returncode, about) == (0, []), done.stderr


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd here")
def test_systemd_understands_the_times() -> None:
    when = unit("benchseal-export.timer")["Timer"]["OnCalendar"]
    command = ["systemd-analyze", "calendar", "--base-time=2026-03-06 19:50 UTC", when]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env={"TZ": "UTC", "LC_ALL": "C"})  # noqa: S603
    assert "Next elapse: Mon 2026-03-09 06:00:00 UTC" in done.stdout, done.stderr


def cron_line() -> tuple[list[str], str]:
    """Five fields of time, and what the account runs."""
    text = (FILES / "benchseal-export.cron").read_text("ascii")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    (line,) = [line for line in lines if not re.match(r"[A-Z_]+=", line)]
    assert text.endswith("\n"), "cron passes over a last line without its end"
    fields = line.split(" ", 6)
    assert fields[5] == "benchseal"
    return fields[:5], fields[6]


def test_the_line_of_cron() -> None:
    times, command = cron_line()
    for text, (low, high) in zip(times, ((0, 59), (0, 23), (1, 31), (1, 12), (0, 7)), strict=True):
        numbers = re.fullmatch(r"\*(?:/(\d+))?|(\d+)-(\d+)", text)
        assert numbers, text
        assert all(low <= int(number) <= high for number in numbers.groups() if number), text
    assert "%" not in command, "cron ends a command there"
    found = asked(command)
    assert (found["command"], found["secret_fd"], found["log"], found["quiet"]) == ("export run", 0, LOG, True)
    assert command.startswith("cat /etc/benchseal/export.secret | ")


def test_the_task_of_windows() -> None:
    """Read as XML and by its words; no Task Scheduler was at hand to load it."""
    data = (FILES / "benchseal-export.xml").read_bytes()
    assert data[:2] == b"\xff\xfe"
    task = ET.fromstring(data)  # noqa: S314  our own file
    assert task.tag == f"{TASK}Task"

    def text(path: str) -> str:
        found = task.findtext("/".join(f"{TASK}{name}" for name in path.split("/")))
        assert found is not None, path
        return found

    assert text("Triggers/CalendarTrigger/Repetition/Interval") == "PT15M"
    assert text("Settings/MultipleInstancesPolicy") == "IgnoreNew"
    assert text("Settings/ExecutionTimeLimit") == "PT1H"
    assert text("Principals/Principal/RunLevel") == "LeastPrivilege"
    assert text("Actions/Exec/Command") == "powershell.exe"
    command = text("Actions/Exec/Arguments")
    found = asked(command)
    assert (found["command"], found["secret_fd"], found["site"]) == ("export run", 0, "D:\\benchseal-site")
    assert "Password | " in command
    # a program that is not there sets no code, and the shell alone would end with 0
    assert command.endswith('; if ($null -eq $LASTEXITCODE) { exit 3 }; exit $LASTEXITCODE"')


@pytest.mark.parametrize(("code", "ends"), [(0, 0), (7, 0), (75, 0), (8, 8), (5, 5), (1, 1)])
def test_the_step_of_a_workflow(code: int, ends: int, tmp_path: Path) -> None:
    """Its command is run by a shell, with a program in ours' place that ends as ours would."""
    flow = YAML(typ="safe", pure=True).load((FILES / "benchseal-export.yaml").read_text("utf-8"))
    assert flow["concurrency"] == {"limit": 1}
    ((command,),) = [task["commands"] for task in flow["tasks"]]
    found = asked(command)
    assert (found["command"], found["secret_fd"], found["json"]) == ("export run", 0, True)
    secret, program = tmp_path / "export.secret", tmp_path / "benchseal"
    secret.write_text("deliverer\nword\n", encoding="utf-8")
    program.write_text(f'#!/bin/sh\nread who && test "$who" = deliverer || exit 99\nexit {code}\n', encoding="utf-8")
    program.chmod(0o700)
    here = command.replace("/etc/benchseal/export.secret", str(secret))
    here = here.replace("/opt/benchseal/bin/benchseal", str(program))
    assert subprocess.run(["/bin/sh", "-c", here], check=False).returncode == ends  # noqa: S603


@pytest.mark.parametrize("path", sorted(FILES.iterdir()), ids=lambda path: path.name)
def test_each_is_told_and_holds_no_secret(path: Path) -> None:
    text = path.read_bytes().decode("utf-16" if path.suffix == ".xml" else "utf-8")
    assert not re.search(r"password\s*[:=]\s*\S", text, re.IGNORECASE)
    assert f"`{path.name}`" in PAGE.read_text("utf-8")


def test_nobody_is_told_to_confirm_a_service() -> None:
    """A service signs nothing, so it waits for nobody: accounts.md."""
    for path in FILES.iterdir():
        text = path.read_bytes().decode("utf-16" if path.suffix == ".xml" else "utf-8")
        assert "approver confirms" not in text, path.name
    assert "approver [confirms" not in PAGE.read_text(encoding="utf-8")
