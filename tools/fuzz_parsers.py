"""Lets a coverage-guided fuzzer look for bytes that make a parser fail. Needs ``atheris``, which no lock file holds.

    python -m venv build/fuzz && build/fuzz/bin/pip install atheris -r requirements/runtime.lock
    PYTHONPATH=pipeline:. build/fuzz/bin/python tools/fuzz_parsers.py comma-list CORPUS -max_total_time=3600

The first word is a parser of tests/ingest/anything.py; what follows goes to the fuzzer. CORPUS is a folder; it is
filled with good inputs and the malformed files of the tests where it is empty. A finding is written to ``crash-…`` in
the folder it was started in: make it a case of tests/ingest/malformed_files.py or malformed_cells.py, then mend.

Only Python code guides the fuzzer: what the csv, json and regular expression modules do inside gives it no signal.
"""

from __future__ import annotations

import sys
from hashlib import sha256
from pathlib import Path


def main() -> int:
    """Fill the corpus, then hand over to the fuzzer, which never comes back."""
    try:
        import atheris  # type: ignore[import-untyped,unused-ignore]  # noqa: PLC0415
    except ImportError:
        print(__doc__, file=sys.stderr)
        return 2
    with atheris.instrument_imports(include=["benchseal"]):
        from tests.ingest.anything import PARSERS, layouts, seeds  # noqa: PLC0415
    if len(sys.argv) < 3 or sys.argv[1] not in PARSERS:
        print(f"{__doc__}\nParsers: {', '.join(PARSERS)}", file=sys.stderr)
        return 2
    parser, corpus = sys.argv[1], Path(sys.argv[2])
    corpus.mkdir(parents=True, exist_ok=True)
    if not any(corpus.iterdir()):
        for data in [*seeds(parser), *_malformed(parser)]:
            (corpus / sha256(data).hexdigest()[:20]).write_bytes(data)
    layouts()
    atheris.Setup([sys.argv[0], *sys.argv[2:]], PARSERS[parser])
    atheris.Fuzz()
    return 0


def _malformed(parser: str) -> list[bytes]:
    """The malformed files of the tests that belong to a parser of instrument files, the smaller ones."""
    from tests.ingest.test_malformed import CASES  # noqa: PLC0415

    return [case.data for case in CASES if case.layout == parser and len(case.data) <= 20_000]


if __name__ == "__main__":
    sys.exit(main())
