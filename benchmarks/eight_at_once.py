"""How long an act waits where eight processes write to one site at once: each does acts without a pause.

    .venv/bin/python -m benchmarks.eight_at_once [--acts 40] [--processes 8] [--check]

Three kinds of acts in turn, under open sessions, so that no password is checked: a look at an instrument file (the
whole of reading, validating and calculating it inside the writing transaction), drafting and discarding one
certificate, which only one process can do at a time, and putting on record that one was sent. An act that is refused
because another process was first counts as well. ``--check`` exits 1 when the 99th percentile is above a second, which
is meant for a quiet machine with a core or two to spare. The site is that of the demo, all invented.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.stage import ask_for_site, cheap, staged
from benchmarks.timing import load_words, table

from benchseal.desk.acts_certificates import DiscardCertificate, DraftCertificate, SendCertificate
from benchseal.desk.acts_runs import CheckFile
from benchseal.desk.admission import Password, Session, sign_in
from benchseal.desk.perform import perform
from benchseal.desk.site import open_site
from benchseal.problems import Refusal, Stopped

if TYPE_CHECKING:
    from benchseal.desk.site import Site

PROCESSES = 8
GOAL_SECONDS = 1.0
ANALYST, FILE, LOT = "p-maren.holt", "flame-ware.txt", "B-2"
REFUSED = {"certificate.already", "certificate.wrong-state"}


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--acts", type=int, default=40, help="acts of each process")
    options.add_argument("--check", action="store_true", help="exit 1 above the goal")
    options.add_argument("--processes", type=int, default=PROCESSES)
    ask_for_site(options)
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        site = str(staged(Path(folder) / "site", asked.site))
        before = load_words()
        context = get_context("spawn")
        with ProcessPoolExecutor(asked.processes, mp_context=context) as pool:
            began = time.perf_counter()
            found = list(pool.map(_acts, [site] * asked.processes, [asked.acts] * asked.processes))
            took = time.perf_counter() - began
    seconds = sorted(one for own, _ in found for one in own)
    refused = sum(count for _, count in found)
    cuts = statistics.quantiles(seconds, n=100)
    row = (
        f"{len(seconds)}",
        f"{refused}",
        f"{cuts[49]:.3f}",
        f"{cuts[98]:.3f}",
        f"{seconds[-1]:.3f}",
        f"{GOAL_SECONDS:.0f}",
    )
    print(table(("acts", "of them too late", "median s", "99 % s", "longest s", "goal 99 % at most"), [row]))
    print(f"{asked.processes} processes, {took:.1f} s; load average before {before}, after {load_words()}")
    return int(asked.check and cuts[98] > GOAL_SECONDS)


def _acts(folder: str, acts: int) -> tuple[list[float], int]:
    """One process: seconds of each act, and how many were refused because another process was first."""
    site = open_site(Path(folder), hashes=cheap)
    lines = (site.private / "demo-people.txt").read_text(encoding="utf-8").splitlines()
    session = Session(sign_in(site, Password(ANALYST, dict(line.split("\t")[:2] for line in lines)[ANALYST])))
    file = (site.folder / "inbox" / FILE).read_bytes()
    with site.store.reading() as view:
        issued = str(view.rows("certificate", state="released")[0]["number"])
    seconds, refused, drafted = [], 0, ""
    for nth in range(acts):
        act: object = (
            CheckFile(file, FILE, "", ()),
            DiscardCertificate(drafted, "drafted by a benchmark") if drafted else DraftCertificate(LOT, ""),
            SendCertificate(issued, "J. Reed, purchasing", "mail"),
        )[nth % 3]
        began = time.perf_counter()
        number = _done(site, act, session)
        seconds.append(time.perf_counter() - began)
        refused += number is None
        if isinstance(act, DraftCertificate):
            drafted = number or ""
        elif isinstance(act, DiscardCertificate):
            drafted = ""
    site.store.close()
    return seconds, refused


def _done(site: Site, act: object, session: Session) -> str | None:
    """The certificate number an act gives back, if any; None where another process was first."""
    try:
        return str(perform(site, act, session).data.get("number", ""))
    except Stopped as stop:
        if all(isinstance(one, Refusal) and one.code in REFUSED for one in stop.notices):
            return None
        raise


if __name__ == "__main__":
    sys.exit(main())
