"""``demo``: the invented laboratory, the whole way."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.demo.play import INBOX, LEFT_FILE, play
from benchseal.problems import EXIT_DONE, EXIT_INTEGRITY

if TYPE_CHECKING:
    from argparse import Namespace


def demo(args: Namespace) -> int:
    """Make a site with the demo's story. Ends 0 only if everything verifies."""
    folder = Path(args.folder)

    def tell(line: str) -> None:
        if not args.quiet:
            print(line, file=sys.stderr, flush=True)

    played = play(folder, tell, later=args.later)
    played.site.store.close()
    code = EXIT_DONE if played.whole else EXIT_INTEGRITY
    if args.json:
        data = {
            "folder": str(folder),
            "ledger": played.site.ledger,
            "runs": list(played.runs),
            "refused_files": list(played.refused),
            "certificates": [str(folder / "certificates" / f"{number}.pdf") for number in played.certificates],
            "held_lots": list(played.held),
            "left_file": str(folder / INBOX / LEFT_FILE),
            "deliveries": [played.delivery],
            "trust": str(folder / "trust.json"),
            "people": str(folder / "private" / "demo-people.txt"),
            "entries": played.entries,
            "whole": played.whole,
        }
        show.as_json(args, data, code=code)
        return code
    first = folder / "certificates" / f"{played.certificates[0]}.pdf"
    trust = folder / "trust.json"
    for line in (
        "",
        f"The certificate of lot A-1:  {first}",
        f"Check it as its customer:    benchseal verify {first} --trust {trust}",
        f"Check the whole site:        benchseal verify --all --site {folder}",
        f"Sign in as somebody:         benchseal sign-in --site {folder}",
        f"  people and passwords:      {folder / 'private' / 'demo-people.txt'}",
        f"One worked calculation:      benchseal run explain R-00003 A-1 --site {folder}",
        f"Why one lot is held:         benchseal certificate why-not A-2 --site {folder}",
        f"A file nobody brought in:    benchseal ingest {folder / INBOX / LEFT_FILE} --site {folder}",
        f"What other systems get:      {folder / 'outbox'}",
    ):
        print(line)
    return code
