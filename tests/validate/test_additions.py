"""Tubes of standard additions in a file: bound to their portion, and one change for each rule that must stop them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.validate.test_check import A_1, DOCUMENT, KNOWN, METHOD, METHOD_REF, _both, _codes, _column

from benchseal.records.preparation import Addition
from benchseal.records.run import Run, RunDocument
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from tests.validate.test_check import Change

    from benchseal.records.known import Known
    from benchseal.records.method import Additions
    from benchseal.records.preparation import Portion

TUBES = ("A-1/1", "A-1/1 a", "A-1/1 b", "A-1/1 c")
ADDITIONS = tuple(Addition(label, str(5 * nth)) for nth, label in enumerate(TUBES))
SERIES = replace(A_1, additions={"Pb": ADDITIONS})
FIRST = DOCUMENT.solutions.label.index("A-1/1")
_LABELS = [_column("solutions", "label", FIRST + nth, label) for nth, label in enumerate(TUBES)]
_KINDS = [_column("solutions", "kind", FIRST + nth, "sample") for nth in range(len(TUBES))]
READ = _both(*_LABELS, *_KINDS)


def known(additions: Additions = "allowed", *portions: Portion) -> Known:
    """What the site knows: the method with its rule, and the portion under each of its labels."""
    method = replace(METHOD, calibration=replace(METHOD.calibration, additions=additions))
    found = dict(KNOWN.portions)
    for portion in portions or (SERIES,):
        found |= {label: (*(one for one in found.get(label, ()) if one.portion != portion.portion), portion)
                  for label in portion.labels}  # fmt: skip
    return replace(KNOWN, methods=((METHOD_REF, method),), portions=found)


def test_every_tube_belongs_to_its_portion() -> None:
    run = check_run(READ(DOCUMENT), known())
    assert isinstance(run, Run), [str(problem) for problem in run]
    assert run.portion[FIRST : FIRST + 4] == (("P-031", "A-1/1"),) * 4


def test_a_tube_not_read_stops_no_file() -> None:
    changed = _both(READ, _column("solutions", "label", FIRST + 2, DOCUMENT.solutions.label[FIRST + 2]))
    kept = _both(changed, _column("solutions", "kind", FIRST + 2, DOCUMENT.solutions.kind[FIRST + 2]))
    assert _codes(kept(DOCUMENT), known()) == []


def test_the_tube_without_addition_alone_serves_a_method_without_additions() -> None:
    assert _codes(DOCUMENT, known("")) == []


_OTHER = replace(SERIES, portion="A-9", additions={"Pb": (Addition("A-9", "0"), *ADDITIONS[1:])})
_AS_READ = _both(READ)
_DEFECTS: dict[str, tuple[Change, Known, list[str]]] = {
    "additions the method does not evaluate": (_AS_READ, known(""), ["additions-unplanned"] * 3),
    "a tube diluted at the instrument": (
        _both(READ, _column("solutions", "dilution", FIRST + 1, "2")), known(), ["addition-dilution"],
    ),
    "a tube read twice": (
        _both(READ, _column("solutions", "label", FIRST + 3, TUBES[2])), known(), ["sample-repeated"],
    ),
    "a tube of another kind": (
        _both(READ, _column("solutions", "kind", FIRST + 3, "duplicate")), known(), ["sample-kind"],
    ),
    "a tube nobody prepared": (
        _both(READ, _column("solutions", "label", FIRST + 3, "A-1/1 d")), known(), ["sample-unknown"],
    ),
    "a tube of two portions": (_AS_READ, known("allowed", SERIES, _OTHER), ["sample-several"] * 3),
    "tubes of another element": (
        _AS_READ, known("allowed", replace(SERIES, additions={"Cd": ADDITIONS})), ["sample-element"] * 3,
    ),
}  # fmt: skip


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_defect(defect: str) -> None:
    change, at_site, codes = _DEFECTS[defect]
    assert _codes(change(DOCUMENT), at_site) == codes


def test_where_additions_are_required_every_portion_of_a_sample_needs_them() -> None:
    found = check_run(READ(DOCUMENT), known("required"))
    assert isinstance(found, tuple)
    lacking = [one for one in found if one.code == "validate.additions-missing"]
    kinds = READ(DOCUMENT).solutions.kind
    assert len(lacking) == len(found) == sum(kind in {"sample", "duplicate", "spiked_sample"} for kind in kinds) - 4
    assert not any("'MB-1'" in one.what or "'CS-1'" in one.what for one in lacking)


def test_a_portion_known_by_its_own_label_only_is_asked_for_its_tube() -> None:
    """A tube of Cd alone is no tube of Pb, whatever the portion is called."""
    cadmium = replace(SERIES, additions={"Cd": (Addition("A-1/1", "0"), *ADDITIONS[1:])})
    document: RunDocument = DOCUMENT
    assert _codes(document, known("allowed", cadmium)) == [], "for lead it has no additions"
