"""``serve``: the verification page, for a browser on this machine; with ``--interface`` the reading interface too."""

from __future__ import annotations

import signal
import sys
import threading
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import site_of
from benchseal.cli.verify import status_of, trust_of_command
from benchseal.problems import EXIT_DONE, Problem, Stopped, Trouble

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from benchseal.desk.site import Site


def serve(args: Namespace) -> int:
    """Answer until it is interrupted."""
    from benchseal.web.server import LOOPBACK, VerificationServer  # noqa: PLC0415

    if not 0 <= args.port <= 65535:
        what = f"--port {args.port} is not between 0 and 65535."
        raise Stopped(Problem("serve.port", "serve", what, "Name another port, or 0 for any that is free."))
    trust, where = trust_of_command(args)
    status = status_of(args.status, trust) if args.status else None
    with ExitStack() as opened:
        site = _site(args) if args.interface else None
        if site is not None and args.host not in LOOPBACK:
            what = "tokens and results would cross the network unencrypted."
            remedy = "Leave --host out; put a proxy that speaks TLS in front, on this machine."
            raise Stopped(Problem("serve.interface-open", f"--host {args.host}", what, remedy))
        try:
            server = opened.enter_context(VerificationServer(args.host, args.port, trust, status, site=site))
        except OSError as fault:
            what = f"it cannot listen there: {fault.strerror or fault}."
            remedy = "Name another --port, or a --host of this machine."
            raise Stopped(Trouble("serve.address", f"{args.host} port {args.port}", what, remedy)) from None
        host = f"[{server.server_name}]" if ":" in server.server_name else server.server_name
        said = [f"http://{host}:{server.server_port}/ checks certificates, trust from {where}. Ctrl-C ends it."]
        if not server.own_machine_only:
            said.append("Others can reach it, and what they send is not encrypted on its way: see the manual.")
        if site is not None:
            said.append(f"Systems with a token read under http://{host}:{server.server_port}/v1/.")
        show.lines(args, said, {"address": f"http://{host}:{server.server_port}/", "trust": where})
        sys.stdout.flush()  # whoever started it waits for this line
        with _until_told():
            server.serve_forever()
    return EXIT_DONE


def _site(args: Namespace) -> Site:
    """The site, found whole and closed again: each request opens what then stands at this path.

    The path is made whole here, since a working folder goes along where it is moved.
    """
    with site_of(args) as site:
        return replace(site, folder=site.folder.absolute())


@contextmanager
def _until_told() -> Iterator[None]:
    """Until SIGINT or SIGTERM, even where whoever started this had them ignored, as a shell does in its background."""
    named = (signal.SIGINT, signal.SIGTERM) if threading.current_thread() is threading.main_thread() else ()
    before = [(each, signal.signal(each, signal.default_int_handler)) for each in named]
    try:
        yield
    except KeyboardInterrupt:
        return
    finally:
        for each, handler in before:
            signal.signal(each, handler)
