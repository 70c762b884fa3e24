"""A whole qualification of this installation, made again by whoever looks and by the act that signs it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.worked_examples import examples_of
from benchseal.problems import Problem, Stopped
from benchseal.records.canonical import parse_json
from benchseal.records.qualification import Qualification, verdict_of
from benchseal.upkeep.installation import installation_tests, installed
from benchseal.upkeep.operation import example_tests, operation_tests, published_tests

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from benchseal.compute.worked_examples import Example
    from benchseal.desk.site import Site
    from benchseal.upkeep.operation import Tried


def qualification_of(
    site: Site, try_out: Callable[[Path], Tried], own: tuple[Example, ...], *parts: str
) -> Qualification:
    """The tests of the parts named (``iq``, ``oq``, ``pq``). own: the laboratory's own examples, for ``pq``."""
    tests = (
        *(installation_tests(site) if "iq" in parts else ()),
        *((*published_tests(), *operation_tests(try_out)) if "oq" in parts else ()),
        *(example_tests("own examples", own) if "pq" in parts else ()),
    )
    return Qualification("qualification/1", installed(), tests, verdict_of(tests))


def own_examples(data: bytes, source: str) -> tuple[Example, ...]:
    """The examples of a laboratory's own file. Raises Stopped."""
    try:
        return examples_of(parse_json(data))
    except ValueError as fault:
        remedy = "See the manual, page 'Operations', for the form of such a file."
        raise Stopped(Problem("qualify.examples", source, f"{fault}.", remedy)) from None
