"""How long the whole command ``benchseal ingest FILE`` takes for one ordinary run: 62 solutions, 3 readings each.

    .venv/bin/python -m benchmarks.ingest_one_run [--rounds 9] [--check]

The goal names 60 solutions; a check pair after every ten makes them 62. The site is that of the demo before its first
instrument file, with more portions in its trace batch. The command runs under an open session, so no password is
checked. Each round works on a fresh copy of the site, and is paired with a floor: an interpreter that imports numpy,
sqlalchemy and jsonschema and reads the file. ``--check`` exits 1 when the median time is above the goal, which is
meant for a quiet machine; processor seconds stand beside it for a busy one. The data are invented and say nothing
about numbers.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from argon2 import PasswordHasher
from benchmarks.timing import Spent, load_words, spent, table

from benchseal.cli.secrets_in import keep_token
from benchseal.demo import sheets
from benchseal.demo.batches import TRACE, tubes
from benchseal.demo.bench import Measurement, Order, measured
from benchseal.demo.curves import CHANNELS
from benchseal.demo.draws import Draws
from benchseal.demo.instrument_files import comma_list
from benchseal.demo.people import FLAME_ANALYST
from benchseal.demo.preparation import portions
from benchseal.demo.registers import SERIALS
from benchseal.demo.scenario import SEED, scenario
from benchseal.demo.starters import methods
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_people import AddPerson
from benchseal.desk.acts_registers import AddPreparation, AddRegister
from benchseal.desk.admission import Password, sign_in
from benchseal.desk.founding import Founding, found
from benchseal.desk.perform import perform
from benchseal.identity.keys import Hardness
from benchseal.identity.password_hashes import PasswordHashes

if TYPE_CHECKING:
    from benchseal.demo.batches import Tube
    from benchseal.desk.acting import Receipt
    from benchseal.desk.site import Site

GOAL_SECONDS = 1.5
SOLUTIONS, READINGS = 62, 3
METHOD = "mercury-cold-vapour"
_MORE_PORTIONS = 20
_FLOOR = "import sys, numpy, sqlalchemy, jsonschema; open(sys.argv[1], 'rb').read()"


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--rounds", type=int, default=9)
    options.add_argument("--check", action="store_true", help="exit 1 above the goal")
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as name:
        before = load_words()
        pairs = _measure(Path(name), asked.rounds)
    ratio = statistics.median(own.wall_s / floor.wall_s for floor, own in pairs)
    rows = [
        (
            name,
            f"{statistics.median(each.wall_s for each in own):.2f}",
            f"{min(each.wall_s for each in own):.2f}",
            f"{statistics.median(each.cpu_s for each in own):.2f}",
        )
        for name, own in zip(("floor", "benchseal ingest"), zip(*pairs, strict=True), strict=True)
    ]
    print(table(("process", "median s", "quickest s", "median processor s"), rows))
    print(f"median ratio {ratio:.2f}; goal at most {GOAL_SECONDS} s on a quiet machine")
    print(
        f"One run of {SOLUTIONS} solutions x {READINGS}; {asked.rounds} rounds; load average before {before}, "
        f"after {load_words()}; Python {sys.version.split()[0]}"
    )
    return int(asked.check and statistics.median(own.wall_s for _, own in pairs) > GOAL_SECONDS)


def _measure(folder: Path, rounds: int) -> list[tuple[Spent, Spent]]:
    """Seconds of the floor and of the command, a pair for each round after one to warm up."""
    prepared, file = folder / "prepared", folder / "mercury.csv"
    os.environ["XDG_STATE_HOME"] = str(folder / "state")
    file.write_bytes(_site_and_file(prepared))
    command = [sys.executable, "-m", "benchseal", "ingest", str(file), "--site", str(folder / "site"), "--json"]
    floor = [sys.executable, "-c", _FLOOR, str(file)]
    found = []
    for _ in range(rounds + 1):
        shutil.rmtree(folder / "site", ignore_errors=True)
        shutil.copytree(prepared, folder / "site")
        found.append((spent(floor), spent(command)))
    _require_whole(folder / "site")
    return found[1:]


def _require_whole(site: Path) -> None:
    """The run that was timed is there, with a result for each portion."""
    show = [sys.executable, "-m", "benchseal", "run", "show", "R-00001", "--site", str(site), "--json"]
    said = subprocess.run(show, check=True, capture_output=True, stdin=subprocess.DEVNULL)  # noqa: S603
    if not json.loads(said.stdout)["work"]["results"]:
        raise RuntimeError("the run that was timed has no results")


def _site_and_file(folder: Path) -> bytes:
    """Found the site and bring in everything an ingest needs; open a session; the instrument file's bytes."""
    script = scenario((datetime.now(UTC) - timedelta(days=16)).date())
    passwords = {each.person: f"measured once, {each.person}" for each in script.people}
    founders = tuple(
        AddPerson(each.person, each.printed_name, each.roles, "invented", passwords[each.person])
        for each in script.people
    )
    cheap = PasswordHashes(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    site = found(folder, Founding(script.laboratory, founders), hashes=cheap, hardness=Hardness(1, 8, 1))

    def do(act: object, person: str = FLAME_ANALYST) -> Receipt:
        return perform(site, act, Password(person, passwords[person]))

    customers = [sheet for sheet in script.registers if sheet.register == "customer"]  # specifications name them
    others = [sheet for sheet in script.registers if sheet not in customers]
    for sheet in customers:
        do(AddRegister(sheet.register, sheet.content, sheet.name))
    for document in script.documents:
        added = do(AddDocument(document.text.encode(), document.name)).data
        do(ApproveDocument(f"{added['kind']}/{added['id']}"), "p-ruth.calloway")
    for sheet in others:
        do(AddRegister(sheet.register, sheet.content, sheet.name))
    own = _tubes()
    for batch, rows in portions(script.start, own).items():
        do(AddPreparation(sheets.preparation(rows), f"{batch}.csv"))
    _open_session(site, passwords[FLAME_ANALYST])
    site.store.close()
    method = methods()[METHOD]
    channel = CHANNELS[METHOD]
    started = datetime.now(UTC) - timedelta(days=1)
    labels = tuple(label for label, tube in own.items() if tube.batch == TRACE)
    order = Order(tuple((label, "1") for label in labels), dict.fromkeys((f"{method.element}-SB", "T-CS"), 1.0))
    series = measured(
        Measurement(method, channel, order, own, Draws(SEED, "sixty")), started, SERIALS[channel.instrument]
    )
    if len(series.solutions) != SOLUTIONS or method.replicates.count != READINGS:
        raise RuntimeError(f"the run has {len(series.solutions)} solutions of {method.replicates.count} readings")
    return comma_list(series)


def _open_session(site: Site, password: str) -> None:
    keep_token(site, sign_in(site, Password(FLAME_ANALYST, password)))


def _tubes() -> dict[str, Tube]:
    """The demo's preparations, with as many more portions in the trace batch as make up the run."""
    every = dict(tubes(SEED))
    samples = [tube for tube in every.values() if tube.kind == "sample" and tube.batch == TRACE]
    for nth in range(_MORE_PORTIONS):
        tube = samples[nth % len(samples)]
        label = f"{tube.label}{'bcd'[nth // len(samples)]}"
        every[label] = replace(tube, label=label)
    return every


if __name__ == "__main__":
    sys.exit(main())
