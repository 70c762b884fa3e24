"""The checks that stand around a sample's readings: what was found, the limit, the verdict, where the rule is from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.compute.explain_layout import STEP, heading, prose, said, spans, table_rows
from benchseal.compute.run_brackets import family_of
from benchseal.compute.run_numbers import shown, shown_against
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from benchseal.compute.explain_around import Around
    from benchseal.records.method import CheckRule
    from benchseal.records.results import CheckVerdict

_IN: Final = STEP + STEP
_OF_THE_CURVE: Final = {
    "calibration.levels": "number of levels",
    "calibration.error_lowest": "error read back, lowest level",
    "calibration.error": "error read back, other levels",
    "calibration.r_squared": "r²",
    "calibration.rse": "relative standard error",
    "calibration.rising": "rises over the whole range",
    "calibration.factor": "factor of the correction",
    "calibration.confirmed": "checks after the correction",
}
_LONGEST_LIMIT: Final = 10  # beyond it a limit was computed, not entered, and is shortened
_VERDICTS: Final = {"pass": "pass", "fail": "fail", "not_evaluated": "not evaluated"}


def check_lines(of: Around) -> Iterator[str]:
    """The section of the checks: of the curve, beside the readings, on the laboratory's solutions, on the sample."""
    around = {rule.id: rule for rule in of.method.checks if rule.brackets or rule.check == "return_to_zero"}
    curve = [one for one in of.work.checks if one.check == "calibration"]
    own = [one for one in of.work.checks if one.check != "calibration" and not one.made_on_sample]
    places = {at for one in of.portions for at in one.positions}
    yield from heading("Checks around these readings")
    yield from _group("Curve", [(one, "") for one in curve])
    for rule in around.values():
        yield from _stands(of, rule, own)
    yield from _group("The laboratory's own solutions", [(one, _at(one)) for one in own if one.rule not in around])
    on_sample = [one for one in of.work.checks if one.made_on_sample and set(one.positions) & places]
    yield from _group("This sample", [(one, _at(one)) for one in on_sample])


def _stands(of: Around, rule: CheckRule, own: Sequence[CheckVerdict]) -> Iterator[str]:
    """The verdicts of one rule nearest before and after each reading, and which readings those are.

    A rule about the first solution only, or the later ones, shares its brackets with those about the others, so a
    solution judged by another of them may stand nearer: then this one is not beside the reading.
    """
    family = {rule.id, *(other.id for other in family_of(rule, of.method.checks))}
    kin = sorted({at for one in own if one.rule in family for at in one.positions})
    read = sorted({at for one in of.portions for at in one.positions})
    later = _by(read, lambda position: max((at for at in kin if at < position), default=0))
    earlier = _by(read, lambda position: min((at for at in kin if at > position), default=0))
    if not rule.brackets:
        later, earlier = {at: _directly(of, at, places) for at, places in later.items()}, {}
    rows = []
    for one in (one for one in own if one.rule == rule.id):
        at = one.positions[0] if one.positions else 0
        if not at or later.get(at) or earlier.get(at):
            rows.append((one, _beside(at, later.get(at, ()), earlier.get(at, ()))))
    yield from _group(_often(rule), rows)
    if rows and rule.brackets and later.get(0):
        yield from prose(f"before {spans(later[0])}: the calibration, just made, opens the bracket", _IN)
    if rows and rule.brackets and earlier.get(0):
        yield from prose(f"after {spans(earlier[0])}: no such check was read", _IN)


def _by(read: Sequence[int], check: Callable[[int], int]) -> dict[int, list[int]]:
    """Positions of readings by the position of a check beside each; 0 where there is none."""
    found: dict[int, list[int]] = {}
    for position in read:
        found.setdefault(check(position), []).append(position)
    return found


def _directly(of: Around, at: int, later: Sequence[int]) -> list[int]:
    """Of ``later`` what was presented directly after the solution at ``at``."""
    following = min((place for place in of.run.document.solutions.position if place > at), default=0)
    return [place for place in later if place == following]


def _beside(at: int, later: Sequence[int], earlier: Sequence[int]) -> str:
    if not at:
        return ""
    words = [f"{word} {spans(places)}" for word, places in (("before", later), ("after", earlier)) if places]
    return f"position {at}, {', '.join(words)}"


def _at(one: CheckVerdict) -> str:
    if not one.positions:
        return ""
    return f"position{'' if len(set(one.positions)) == 1 else 's'} {spans(one.positions)}"


def _often(rule: CheckRule) -> str:
    """What a rule of brackets asks, in words."""
    if not rule.brackets:
        return "Rinse directly before a reading"
    parts = []
    if rule.every:
        parts.append(f"at most {rule.every} solutions between two")
    if rule.at_end:
        parts.append("one closes the run")
    return f"Bracket: {', '.join(parts)}" if parts else "Bracket"


def _group(title: str, verdicts: Sequence[tuple[CheckVerdict, str]]) -> Iterator[str]:
    """Verdicts under a title, why one is no pass below it; those of one source together, the source below them."""
    if not verdicts:
        return
    yield from prose(title)
    by_source: dict[str, list[tuple[CheckVerdict, str]]] = {}
    for one, place in verdicts:
        by_source.setdefault(one.source, []).append((one, place))
    for source, own in by_source.items():
        lines = table_rows([_row(one, place) for one, place in own], _IN)
        for (one, _), row in zip(own, lines, strict=True):
            yield from row
            yield from prose(one.why, _IN + STEP) if one.why else ()
        yield from said("source", source, _IN + STEP)


def _row(one: CheckVerdict, place: str) -> list[str]:
    tail = f" {unit_shown(one.unit)}" if one.unit else ""
    found = f"found {_found(one)}{tail}" if one.found else ""
    return [_name(one), found, _limit(one), _VERDICTS[one.verdict], place]


def _found(one: CheckVerdict) -> str:
    """Digits enough to see the side of the limit; more of a ratio, since r² lies close to 1."""
    short = shown_against(one.found, one.low, one.high)
    return short if one.unit else max(short, shown(one.found, 6), key=len)


def _name(one: CheckVerdict) -> str:
    """The rule by its own name: ``check-standard`` is read as ``check standard``."""
    if one.check == "calibration" and one.rule in _OF_THE_CURVE:
        return _OF_THE_CURVE[one.rule]
    return one.rule.removeprefix("calibration.").replace("-", " ").replace("_", " ")


def _limit(one: CheckVerdict) -> str:
    tail = f" {unit_shown(one.unit)}" if one.unit else ""
    low, high = (shown(text) if len(text) > _LONGEST_LIMIT else text for text in (one.low, one.high))
    if low and high:
        return f"limit {low} to {high}{tail}"
    if low or high:
        return f"limit at least {low}{tail}" if low else f"limit at most {high}{tail}"
    return ""
