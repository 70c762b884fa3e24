"""What a certificate costs beyond the renderer: render and seal as the desk does, against WeasyPrint alone.

    .venv/bin/python -m benchmarks.render_certificates [--pairs 11] [--certificates 500] [--kinds 3] [--check]

The certificates are those of the demo, played once into a folder of its own; invented. Three things are measured in one
run, each against its floor:

1. One after the other: evidence and supplement to a sealed file (view, template, renderer in its own process, seal),
   against WeasyPrint in this process on the same HTML with the same form and attachments, in interleaved pairs.
2. A batch on two workers: two renderers, each asked by a thread that seals what comes back, against two independent
   processes that do nothing but WeasyPrint on the same HTML. Both sides are started and warm; parts of fifty alternate.
3. Resident memory after the first fifty of the batch and after all of it: of the two renderers alone, and of the whole
   program, which is this process and the two (Linux). The larger growth counts.

``--check`` exits 1 when a goal is missed.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import io
import os
import pickle
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pikepdf
from benchmarks.stage import ask_for_site, cheap, staged
from benchmarks.timing import load_words, table
from cryptography import x509
from weasyprint import CSS, HTML, Attachment
from weasyprint.text.fonts import FontConfiguration

from benchseal import shipped
from benchseal.certificate.issue import render_certificate, seal_certificate
from benchseal.certificate.present import view_of
from benchseal.certificate.render import (
    STYLE,
    SUPPLEMENT,
    TEMPLATE,
    Attached,
    evidence_and_supplement,
    html_of,
    values_of,
)
from benchseal.certificate.shipped_only import ShippedOnly
from benchseal.desk.keys import open_seal_key
from benchseal.desk.renderer import Renderer
from benchseal.desk.site import open_site
from benchseal.records.canonical import digest
from benchseal.records.evidence import Evidence, Supplement
from benchseal.records.shape import read_record

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.seal_signer import SealSigner


MOST_RATIO, MORE_S = 1.15, 0.060
LEAST_RATE = 0.9
MOST_GROWTH = 1.2
PART = 50
WORKERS = 2


class Paper(NamedTuple):
    """One certificate: what the desk has of it, and the HTML that comes of it."""

    evidence: bytes
    supplement: bytes
    at: datetime
    html: str


@dataclass(frozen=True)
class Work:
    """The certificates of the demo and the key they are sealed with."""

    papers: tuple[Paper, ...]
    key: SealSigner
    certificate: x509.Certificate

    def whole(self, renderer: Renderer, nth: int) -> bytes:
        """One certificate as the desk makes it."""
        one = self.papers[nth % len(self.papers)]
        raw = renderer.make(render_certificate, one.evidence, one.supplement)
        return seal_certificate(raw, self.key, self.certificate, one.at)


class Bare:
    """WeasyPrint alone, its fonts and style read once."""

    def __init__(self) -> None:
        self.fonts = FontConfiguration()
        self.style = CSS(string=shipped.template(STYLE), font_config=self.fonts, url_fetcher=ShippedOnly())

    def __call__(self, one: Paper) -> bytes:
        """The rendered file."""
        files = [_attachment(each, one.at) for each in evidence_and_supplement(one.evidence, one.supplement)]
        made: bytes = HTML(string=one.html, url_fetcher=ShippedOnly()).write_pdf(
            font_config=self.fonts, stylesheets=[self.style], pdf_variant="pdf/a-3a", pdf_tags=True, attachments=files
        )
        return made


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--pairs", type=int, default=11)
    options.add_argument("--certificates", type=int, default=500)
    options.add_argument("--check", action="store_true", help="exit 1 where a goal is missed")
    options.add_argument("--bare", metavar="FILE", help=argparse.SUPPRESS)
    options.add_argument("--kinds", type=int, default=3, help="of the demo's certificates, how many are taken")
    ask_for_site(options)
    asked = options.parse_args()
    if asked.bare:
        return _serve_bare(Path(asked.bare))
    before = load_words()
    with tempfile.TemporaryDirectory() as folder, ExitStack() as ends:
        work = _work(staged(Path(folder) / "site", asked.site), asked.kinds)
        renderers = [Renderer() for _ in range(WORKERS)]
        for one in renderers:
            ends.callback(one.close)
        own_s, floor_s = _one_by_one(work, renderers[0], asked.pairs)
        rate, growth, said = _batch(work, renderers, Path(folder), asked.certificates)
    most_s = MOST_RATIO * floor_s + MORE_S
    rows = [
        ("render and seal one", f"{1e3 * own_s:.0f} ms", f"{1e3 * floor_s:.0f} ms", f"at most {1e3 * most_s:.0f} ms"),
        (f"{asked.certificates} on two workers", said[0], said[1], f"{rate:.2f} of it, at least {LEAST_RATE}"),
        ("memory of the renderers", said[2], said[3], f"{growth[0]:.2f} times, at most {MOST_GROWTH}"),
        ("memory of all processes", said[4], said[5], f"{growth[1]:.2f} times, at most {MOST_GROWTH}"),
    ]
    print(table(("measured", "own, or at the end", "floor, or before", "goal"), rows))
    print(
        f"load average before {before}, after {load_words()}; Python {sys.version.split()[0]}; {len(work.papers)} kinds"
    )
    missed = own_s > most_s or rate < LEAST_RATE or max(growth) > MOST_GROWTH
    return 1 if asked.check and missed else 0


def _one_by_one(work: Work, renderer: Renderer, pairs: int) -> tuple[float, float]:
    """Seconds of the own way and of the floor, medians of interleaved pairs over all papers."""
    bare = Bare()
    for nth, one in enumerate(work.papers):  # both warm, and both make the same pages
        if len(work.whole(renderer, nth)) < len(bare(one)):
            raise SystemExit("the sealed file is smaller than the rendered one")
    own, floor = [], []
    for nth in range(pairs * len(work.papers)):
        started = time.perf_counter()
        bare(work.papers[nth % len(work.papers)])
        between = time.perf_counter()
        work.whole(renderer, nth)
        floor.append(between - started)
        own.append(time.perf_counter() - between)
    return statistics.median(own), statistics.median(floor)


def _batch(
    work: Work, renderers: list[Renderer], folder: Path, count: int
) -> tuple[float, tuple[float, float], tuple[str, ...]]:
    """Rate against the floor; growth of memory, of the renderers and of all processes; words for what was measured."""
    own, floor = [], []
    early = late = (0, 0)
    parts = [min(PART, count - at) for at in range(0, count, PART)]
    with ExitStack() as ends:
        bare = [_bare_process(work, folder, ends) for _ in range(WORKERS)]
        for nth, part in enumerate(parts):
            floor.append(part / _timed_bare(bare, part))
            own.append(part / _timed_own(work, renderers, part))
            beside = sum(_resident_kb(one.process_id) for one in renderers)
            late = (beside, beside + _resident_kb(os.getpid()))
            early = late if nth == 0 else early
    own_rate, floor_rate = statistics.median(own), statistics.median(floor)
    words = (
        f"{own_rate:.2f} a second",
        f"{floor_rate:.2f} a second",
        *(f"{kb / 1024:.0f} MiB" for pair in zip(late, early, strict=True) for kb in pair),
    )
    growth = [after / before if before else 1.0 for after, before in zip(late, early, strict=True)]
    return own_rate / floor_rate, (growth[0], growth[1]), words


def _timed_own(work: Work, renderers: list[Renderer], count: int) -> float:
    """Seconds of ``count`` certificates; each worker takes the next one when it is free."""
    numbers, failed = iter(range(count)), []

    def serve(renderer: Renderer) -> None:
        try:
            for nth in _shared(numbers, lock):
                work.whole(renderer, nth)
        except BaseException as fault:
            failed.append(fault)
            raise

    lock = threading.Lock()
    workers = [threading.Thread(target=serve, args=(one,)) for one in renderers]
    started = time.perf_counter()
    for one in workers:
        one.start()
    for one in workers:
        one.join()
    if failed:
        raise SystemExit(f"a worker failed: {failed[0]}")
    return time.perf_counter() - started


def _shared(numbers: Iterator[int], lock: threading.Lock) -> Iterator[int]:
    while True:
        with lock:
            nth = next(numbers, None)
        if nth is None:
            return
        yield nth


def _bare_process(work: Work, folder: Path, ends: ExitStack) -> subprocess.Popen[str]:
    """A process that is warm and waits to be told how many."""
    file = folder / "papers"
    file.write_bytes(pickle.dumps([tuple(one) for one in work.papers]))
    command = [sys.executable, "-m", "benchmarks.render_certificates", "--bare", str(file)]
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)  # noqa: S603
    ends.enter_context(process)
    ends.callback(process.kill)
    _answer(process)
    return process


def _timed_bare(processes: list[subprocess.Popen[str]], count: int) -> float:
    started = time.perf_counter()
    for nth, one in enumerate(processes):
        share = count // len(processes) + (nth < count % len(processes))
        print(share, file=one.stdin, flush=True)
    for one in processes:
        _answer(one)
    return time.perf_counter() - started


def _answer(process: subprocess.Popen[str]) -> None:
    if process.stdout is None or process.stdout.readline() != "done\n":
        raise SystemExit("a bare process failed")


def _serve_bare(file: Path) -> int:
    """The floor's process: papers from a file of this benchmark, then a line with a number for each part."""
    papers = [Paper(*one) for one in pickle.loads(file.read_bytes())]  # noqa: S301  written by this benchmark
    bare = Bare()
    for one in papers:
        bare(one)
    print("done", flush=True)
    for line in sys.stdin:
        for nth in range(int(line)):
            bare(papers[nth % len(papers)])
        print("done", flush=True)
    return 0


def _attachment(one: Attached, at: datetime) -> Attachment:
    return Attachment(
        string=one.data, name=one.name, description=one.description, created=at, modified=at,
        relationship=one.relationship,
    )  # fmt: skip


def _resident_kb(process_id: int) -> int:
    """Resident memory of a process; 0 where the system does not tell."""
    status = Path(f"/proc/{process_id}/status")
    lines = status.read_text(encoding="ascii").splitlines() if status.is_file() else []
    return next((int(line.split()[1]) for line in lines if line.startswith("VmRSS:")), 0)


def _work(folder: Path, kinds: int) -> Work:
    """The demo's certificates."""
    site = open_site(folder, hashes=cheap)
    with site.store.reading() as view:
        rows = [row for row in view.rows("certificate") if row["sealed"]]
        files = [(view.bytes_of(row["evidence"]), _supplement_in(view.bytes_of(row["unsealed"]))) for row in rows]
        founded = view.row("site", ledger=site.ledger)
        if founded is None:
            raise SystemExit("the demo was not played")
        key = open_seal_key(site.private, founded["seal_key_id"])
        certificate = view.bytes_of(founded["seal_certificate"])
    site.store.close()
    return Work(tuple(_paper(*both) for both in files[:kinds]), key, x509.load_der_x509_certificate(certificate))


def _supplement_in(pdf: bytes) -> bytes:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return bytes(opened.attachments[SUPPLEMENT].get_file().read_bytes())


def _paper(evidence: bytes, supplement: bytes) -> Paper:
    told = read_record(Supplement, supplement)
    view = view_of(
        read_record(Evidence, evidence),
        release=told.release,
        checkpoint=told.checkpoint,
        evidence_digest=digest(evidence),
    )
    at = datetime.fromisoformat(told.release.statement.at).astimezone(UTC).replace(microsecond=0)
    return Paper(evidence, supplement, at, html_of(TEMPLATE, at, **values_of(view)))


if __name__ == "__main__":
    sys.exit(main())
