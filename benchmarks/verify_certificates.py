"""How long the outside check of a certificate takes: one file in a warm process, and a thousand by one command.

    .venv/bin/python -m benchmarks.verify_certificates [--files 1000] [--rounds 15] [--check]

The certificates are those of the demo, played anew, copied for the batch. The floor of one file is what no check can do
without: its SHA-256, its text unpacked by pikepdf, its evidence read as JSON, and one RSA signature checked; it is
measured in the same process, in turn with the check. The floor of the batch is an interpreter that imports the same
libraries and reads and hashes the same files. A changed file is refused before it is unpacked, so it is quicker; its
time stands beside. ``--check`` exits 1 when the processor time of one file is above the goal. The data are invented.
"""

# ruff: noqa: INP001, T201  scripts that print

from __future__ import annotations

import argparse
import hashlib
import io
import json
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pikepdf
from benchmarks.stage import ask_for_site, staged
from benchmarks.timing import load_words, spent, table
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey, RSAPublicKey, generate_private_key
from cryptography.hazmat.primitives.hashes import SHA256

from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable

GOAL_SECONDS = 0.150
_IMPORTS = "import hashlib, sys, pathlib, pikepdf, numpy, cryptography.x509, pyhanko.sign.validation, jinja2"
_FLOOR = f"{_IMPORTS}\nfor name in sys.argv[1:]: hashlib.sha256(pathlib.Path(name).read_bytes()).hexdigest()"


def floor_of(key: RSAPrivateKey) -> Callable[[bytes], None]:
    """What no check of a file can do without."""
    signature = key.sign(b"x", PKCS1v15(), SHA256())
    public: RSAPublicKey = key.public_key()

    def floor(pdf: bytes) -> None:
        hashlib.sha256(pdf).digest()
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            for page in opened.pages:
                page.obj.Contents.read_bytes()
            for attached in opened.attachments.values():
                json.loads(attached.get_file().read_bytes())
        public.verify(signature, b"x", PKCS1v15(), SHA256())

    return floor


def processor_s(act: Callable[[], object]) -> float:
    """Processor seconds of one call."""
    before = time.process_time()
    act()
    return time.process_time() - before


def one_file(files: list[bytes], trust: Trust, rounds: int) -> tuple[float, float, float]:
    """Median processor seconds of the floor, of a genuine file, and of one with a byte changed; warm, in turn."""
    floor = floor_of(generate_private_key(65537, 3072))
    changed = files[0][:5000] + bytes((files[0][5000] ^ 1,)) + files[0][5001:]
    words = {verify_certificate(pdf, trust).word for pdf in files}
    if words != {"GENUINE"} or verify_certificate(changed, trust).word != "ALTERED":
        raise SystemExit(f"what is timed does not work: {words}")
    rows = []
    for number in range(rounds):
        pdf = files[number % len(files)]
        rows.append(
            (
                processor_s(lambda pdf=pdf: floor(pdf)),  # type: ignore[misc]
                processor_s(lambda pdf=pdf: verify_certificate(pdf, trust)),  # type: ignore[misc]
                processor_s(lambda: verify_certificate(changed, trust)),
            )
        )
    first, second, third = (statistics.median(column) for column in zip(*rows, strict=True))
    return first, second, third


def main() -> int:
    """Measure, print, compare."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--files", type=int, default=1000)
    options.add_argument("--rounds", type=int, default=15)
    options.add_argument("--check", action="store_true", help="exit 1 above the goal")
    ask_for_site(options)
    asked = options.parse_args()
    before = load_words()
    with tempfile.TemporaryDirectory() as place:
        site = staged(Path(place) / "site", asked.site)
        trust_file = site / "trust.json"
        paths = sorted((site / "certificates").glob("*.pdf"))
        trust = read_trust(json.loads(trust_file.read_text(encoding="utf-8")))
        if not isinstance(trust, Trust):
            raise SystemExit("\n".join(map(str, trust)))
        floor_s, genuine_s, changed_s = one_file([path.read_bytes() for path in paths], trust, asked.rounds)
        names = []
        for number in range(asked.files):
            names.append(str(Path(place) / f"{number:04}.pdf"))
            shutil.copyfile(paths[number % len(paths)], names[-1])
        verify = [sys.executable, "-m", "benchseal", "verify", "--trust", str(trust_file)]
        spent([*verify, names[0]])
        batch_floor, batch = spent([sys.executable, "-c", _FLOOR, *names]), spent([*verify, "--json", *names])
    per_file = batch.cpu_s / asked.files
    rows = [
        ("one file, warm", f"{genuine_s:.4f}", f"{floor_s:.4f}", f"{genuine_s / floor_s:.1f}", f"{GOAL_SECONDS:.3f}"),
        ("one changed file", f"{changed_s:.4f}", f"{floor_s:.4f}", f"{changed_s / floor_s:.2f}", "none"),
        (
            f"{asked.files} files by one command",
            f"{batch.cpu_s:.2f}",
            f"{batch_floor.cpu_s:.2f}",
            f"{batch.cpu_s / batch_floor.cpu_s:.1f}",
            "none",
        ),
    ]
    print(table(("what", "processor s", "floor s", "ratio", "goal at most s"), rows))
    print(f"of the batch: {per_file:.4f} processor s a file; {batch.wall_s:.1f} s on the clock")
    print(f"{asked.rounds} rounds; load average before {before}, after {load_words()}; Python {sys.version.split()[0]}")
    return int(asked.check and genuine_s > GOAL_SECONDS)


if __name__ == "__main__":
    sys.exit(main())
