"""``demo``: the invented laboratory, the whole way."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.demo.play import play
from benchseal.problems import EXIT_DONE, EXIT_INTEGRITY

if TYPE_CHECKING:
    from argparse import Namespace


def demo(args: Namespace) -> int:
    """Make a site with the demo's story. Ends 0 only if everything verifies."""
    folder = Path(args.folder)

    def tell(line: str) -> None:
        if not args.quiet:
            print(line, file=sys.stderr, flush=True)

    played = play(folder, tell)
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
            "deliveries": [played.delivery],
            "trust": str(folder / "trust.json"),
            "people": str(folder / "private" / "demo-people.txt"),
            "entries": played.entries,
            "whole": played.whole,
        }
        show.as_json(args, data, code=code)
        return code
    first = folder / "certificates" / f"{played.certificates[0]}.pdf"
    for line in (
        "",
        "Open next:",
        f"  {first}   the certificate of lot A-1",
        f"  benchseal verify {first} --trust {folder / 'trust.json'}",
        f"  benchseal sign-in --site {folder}   people and passwords: {folder / 'private' / 'demo-people.txt'}",
        f"  benchseal run explain {played.runs[2]} A-1 --site {folder}   one worked calculation, down to raw lines",
        f"  benchseal certificate why-not A-2 --site {folder}   why one lot is held",
        f"  {folder / 'outbox'}   the delivery for another system",
        f"  benchseal verify --all --site {folder}",
    ):
        print(line)
    return code
