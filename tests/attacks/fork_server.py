"""A process that has everything loaded and forks one child for each command, so that a thousand stops take minutes.

Each line of standard input is a request: {"argv", "secrets", "folder", "strace"}; each line of standard output an
answer {"ended", "traced"}: the child's exit code (minus the signal that killed it) and strace's. What the child says
goes to ``out`` and ``err`` in ``folder``, strace's log to ``trace`` there. The child waits until strace has hold of it.
"""

from __future__ import annotations

import ctypes
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

PR_SET_PTRACER, ANYBODY = (
    0x59616D61,
    ctypes.c_ulong(-1),
)  # the security module Yama lets a parent only trace its children
WAIT_S = 30.0


def serve() -> None:
    """Answer until standard input ends."""
    for line in sys.stdin:
        sys.stdout.write(json.dumps(answer(json.loads(line))) + "\n")
        sys.stdout.flush()


def answer(request: dict[str, Any]) -> dict[str, int]:
    """Run one command in a child, under strace where arguments for it are given."""
    folder = Path(request["folder"])
    reading, writing = os.pipe()
    os.write(writing, "".join(f"{line}\n" for line in request["secrets"]).encode())
    os.close(writing)
    # Made before the fork: strace may have hold of the child at once, and must meet the command's own calls only.
    (folder / "temporary").mkdir(exist_ok=True)
    said_to = [os.open(folder / name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600) for name in ("out", "err")]
    child = os.fork()
    if child == 0:
        argv = [*request["argv"], "--secret-fd", str(reading)]
        run(argv, folder / "temporary", said_to, traced=bool(request["strace"]))
    for descriptor in (reading, *said_to):
        os.close(descriptor)
    tracer = None
    if request["strace"]:
        # -b execve: a program that the command starts (the one that makes papers) is another process, not this command.
        log = ["-b", "execve", "-o", str(folder / "trace")]
        command = ["strace", "-f", "-qq", *log, *request["strace"], "-p", str(child)]
        tracer = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)  # noqa: S603
    _, status = os.waitpid(child, 0)
    traced = 0
    if tracer is not None:
        _, said = tracer.communicate()
        traced = tracer.returncode
        (folder / "strace").write_bytes(said)
    return {"ended": os.waitstatus_to_exitcode(status), "traced": traced}


def run(argv: list[str], temporary: Path, said_to: list[int], *, traced: bool) -> None:
    """The child: one command, then the end, whatever happens."""
    code = 99
    try:
        tempfile.tempdir = str(temporary)
        for said, descriptor in zip(said_to, (1, 2), strict=True):
            os.dup2(said, descriptor)
        if traced:
            ctypes.CDLL(None).prctl(PR_SET_PTRACER, ANYBODY, 0, 0, 0)
            wait_for_tracer()
        from benchseal.cli import main  # noqa: PLC0415

        code = main(argv)
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


def wait_for_tracer() -> None:
    """Return once somebody traces this process. Raises TimeoutError: then nothing was run."""
    end = time.monotonic() + WAIT_S
    while "TracerPid:\t0\n" in Path("/proc/self/status").read_text(encoding="ascii"):
        if time.monotonic() > end:
            raise TimeoutError
        time.sleep(0.001)


def warm() -> None:
    """Load what the commands load, before the first fork."""
    import benchseal.certificate.read_pdf  # noqa: PLC0415
    import benchseal.certificate.record_page  # noqa: PLC0415
    import benchseal.certificate.seal  # noqa: PLC0415
    import benchseal.cli.certificates  # noqa: PLC0415
    import benchseal.cli.exports  # noqa: PLC0415
    import benchseal.cli.keys  # noqa: PLC0415
    import benchseal.cli.runs  # noqa: PLC0415
    import benchseal.cli.upkeep  # noqa: PLC0415
    import benchseal.desk.acts  # noqa: PLC0415
    import benchseal.desk.rotation  # noqa: PLC0415
    import benchseal.desk.sealing  # noqa: PLC0415
    import benchseal.upkeep.backup  # noqa: PLC0415
    import benchseal.upkeep.copying  # noqa: PLC0415

    for row in benchseal.desk.acts.ROWS:
        __import__(f"benchseal.desk.{row.function.partition(':')[0]}")


if __name__ == "__main__":
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # threads would not live through a fork
    warm()
    serve()
