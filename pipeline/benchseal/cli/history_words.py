"""A control chart over runs in words, in signs and as JSON. Every sign is plain ASCII: any console shows it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.history_chart import MOVED_PERCENT, base_words, in_s, places_of, rounded, text_of
from benchseal.compute.run_numbers import shown
from benchseal.problems import Finding, Refusal

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.history_chart import Against, Broken, Chart, Stretch, Value
    from benchseal.desk.histories import Series
    from benchseal.problems import Notice
    from benchseal.records.canonical import Json

_PER_S = 4  # columns for one standard deviation
_FIELD = "|   :   .   |   .   :   |"  # from -3 s to +3 s: centre and 3 s, 2 s, 1 s
_SCALE = "-3 -2  -1   0  +1  +2  +3 s"
_NUMBERS = frozenset({"place", "slope", "found", "expected"})


def chart_lines(of: Series, chart: Chart, method: str) -> Iterator[str]:
    """One chart: what it is of, each lot's base and limits, a line for each value, and what is broken."""
    yield _heading(of, chart, method)
    for stretch in chart.stretches:
        yield from _stretch_lines(stretch)
    yield from _value_lines(of, chart)
    for stretch in chart.stretches:
        yield from (f"  broken, lot {stretch.letter}: {_broken_words(chart, one)}" for one in stretch.broken)


def _heading(of: Series, chart: Chart, method: str) -> str:
    unit = next((one.unit for one in chart.stretches), "")
    if of.kind:
        return f"{of.named} by {method} on {of.instrument}" + (f", {unit}" if unit else "")
    what = f"characteristic {'mass' if unit == 'pg' else 'concentration'}, {unit}" if unit else "none found"
    return f"sensitivity by {method} on {of.instrument}: {what}; slope in {chart.values[-1].slope_unit}"


def _stretch_lines(stretch: Stretch) -> Iterator[str]:
    basis = f", {stretch.unit}" if stretch.unit not in {"", "%"} else ""
    yield f"  lot {stretch.letter} is {stretch.lot}{basis}; {_count(stretch.n)}"
    if stretch.limits is None:
        yield f"    no limits: {stretch.why.what if stretch.why else ''}"
        return
    yield f"    {base_words(stretch, stretch.limits)}"
    low, high = stretch.limits.at(2), stretch.limits.at(3)
    places = places_of(stretch.limits)
    lines = [rounded(text_of(one), places) for one in (stretch.limits.mean, *low, *high)]
    s = shown(text_of(stretch.limits.s), 3)
    yield f"    centre {lines[0]}, s {s}; 2 s {lines[1]} to {lines[2]}; 3 s {lines[3]} to {lines[4]}"
    if stretch.late:
        late = ", ".join(stretch.late)
        yield f"    came in, or calculated again, after the base was complete: {late}; earlier limits may have differed"


def _value_lines(of: Series, chart: Chart) -> Iterator[str]:
    by_key = {one.key: one for one in chart.stretches}
    marked = {
        place
        for one in chart.stretches
        for each in one.broken
        for place in one.places
        if each.first <= place <= each.last
    }
    rows = [_cells(of, value, by_key.get(value.key)) for value in chart.values]
    heads = _heads(of)
    widths = [max(len(row[column]) for row in (heads, *rows)) for column in range(len(heads))]
    field = _SCALE if any(one.limits for one in chart.stretches) else ""
    yield _line(heads, heads, widths, field)
    for place, (value, row) in enumerate(zip(chart.values, rows, strict=True)):
        drawn = field_of(value, by_key.get(value.key))
        yield _line(heads, row, widths, f"{drawn} *" if place in marked else drawn)


def _heads(of: Series) -> list[str]:
    if of.kind:
        return ["run", "place", "measured (UTC)", "found", "expected", "verdict", "lot"]
    return ["run", "measured (UTC)", "slope", "found", "lot"]


def _cells(of: Series, value: Value, stretch: Stretch | None) -> list[str]:
    found = "-"
    if value.found:
        limits = stretch.limits if stretch is not None else None
        found = shown(value.found) if limits is None else rounded(value.found, places_of(limits))
    at = value.measured_at.replace("T", " ")[:16]
    letter = stretch.letter if stretch is not None else ""
    if not of.kind:
        return [value.run, at, shown(value.slope), found, letter]
    verdict = "not judged" if value.verdict == "not_evaluated" else value.verdict
    expected = f"{value.expected} {value.expected_unit}".strip()
    return [value.run, str(value.position or ""), at, found, expected, verdict, letter]


def _line(heads: Sequence[str], cells: Sequence[str], widths: Sequence[int], field: str) -> str:
    aligned = (
        cell.rjust(width) if head in _NUMBERS else cell.ljust(width)
        for head, cell, width in zip(heads, cells, widths, strict=True)
    )
    return f"  {'  '.join(aligned)}  {field}".rstrip()


def field_of(value: Value, stretch: Stretch | None) -> str:
    """The place of a value between -3 s and +3 s, marked by its lot's letter; ``<`` or ``>`` beyond them."""
    if stretch is None or stretch.limits is None or not value.found:
        return ""
    away = in_s(value.found, stretch.limits)
    if abs(away) > 3:
        return f"<{_FIELD[1:]}" if away < 0 else f"{_FIELD[:-1]}>"
    place = round(_PER_S * (away + 3))
    return f"{_FIELD[:place]}{stretch.letter}{_FIELD[place + 1 :]}"


def _broken_words(chart: Chart, one: Broken) -> str:
    first, last = (_at(chart.values[place]) for place in (one.first, one.last))
    where = first if one.first == one.last else f"{first} to {last}"
    newest = ", the newest value in it" if one.last == chart.newest else ""
    base = ", begun in the base" if one.in_base else ""
    return f"{where}: {one.words} ({one.rule}){newest}{base}"


def _at(value: Value) -> str:
    return f"{value.run} at {value.position}" if value.position else value.run


def _count(n: int) -> str:
    return f"{n} value{'s' if n != 1 else ''}"


# ------------------------------------------------------------------ findings


def broken_finding(of: Series, chart: Chart, broken: Sequence[Broken]) -> Finding:
    """The newest value of a chart breaks run rules."""
    value = chart.values[chart.newest]
    rules = "; ".join(f"{one.words} ({one.rule})" for one in broken)
    what = f"the newest value, {shown(value.found)} {value.unit}".rstrip() + f" of {_at(value)}, is part of: {rules}."
    remedy = "Look for the cause before further results are accepted; a broken rule alone proves nothing."
    return Finding("history.run-rule-broken", of.where, what, remedy)


def compared_lines(chart: Chart, against: Against | Refusal | None) -> Iterator[str]:
    """The newest value against its own history, in words."""
    if isinstance(against, Refusal):
        yield f"  the newest against its history: {against.what}"
    elif against is not None:
        yield f"  {_compared(chart.values[chart.newest], against)}"


def _compared(newest: Value, against: Against) -> str:
    mean = f"the mean of {against.earlier} earlier values, {shown(against.mean)} {newest.unit}"
    return f"the newest, {newest.run}: {shown(newest.found)} {newest.unit}, {shown(against.percent)} % of {mean}"


def moved_by(of: Series, chart: Chart, against: Against | Refusal) -> list[Notice]:
    """A finding where the newest value lies far from the mean of its history."""
    if isinstance(against, Refusal) or not against.moved:
        return []
    allowed = f"{100 - MOVED_PERCENT} to {100 + MOVED_PERCENT} %"
    what = f"{_compared(chart.values[chart.newest], against)}; usual {allowed} (common practice, no source)."
    remedy = "Look at lamp, burner or tube, wavelength and standards before the next run."
    return [Finding("history.sensitivity-moved", of.where, what, remedy)]


# ------------------------------------------------------------------ JSON


def chart_json(of: Series, chart: Chart) -> dict[str, Json]:
    """One chart; numbers as text of 12 significant digits. A refusal stands in the place of the limits."""
    by_key = {one.key: one for one in chart.stretches}
    about: dict[str, Json] = {"rule": of.rule, "check": of.kind} if of.kind else {"of": "sensitivity"}
    values: list[Json] = [_value_json(of, value, by_key.get(value.key)) for value in chart.values]
    lots: list[Json] = [_stretch_json(chart, one) for one in chart.stretches]
    return {**about, "instrument": of.instrument, "lots": lots, "values": values}


def compared_json(chart: Chart, against: Against | Refusal | None) -> dict[str, Json]:
    """The newest value against its own history, or why it is not compared; nothing where no value has a number."""
    if against is None:
        return {}
    if isinstance(against, Refusal):
        return {"newest_against_history": _refused(against)}
    newest = chart.values[chart.newest]
    compared: dict[str, Json] = {
        "run": newest.run,
        "found": newest.found,
        "unit": newest.unit,
        "earlier": against.earlier,
        "mean": against.mean,
        "percent": against.percent,
        "moved": against.moved,
        "moved_from_percent": MOVED_PERCENT,
    }
    return {"newest_against_history": compared}


def _value_json(of: Series, value: Value, stretch: Stretch | None) -> dict[str, Json]:
    shared: dict[str, Json] = {
        "run": value.run,
        "version": value.version,
        "measured_at": value.measured_at,
        "lot": value.lot,
        "letter": stretch.letter if stretch is not None else "",
        "found": value.found,
        "unit": value.unit,
    }
    if stretch is not None and stretch.limits is not None and value.found:
        shared["away_in_s"] = text_of(in_s(value.found, stretch.limits))
    if not of.kind:
        return {**shared, "slope": value.slope, "slope_unit": value.slope_unit, "why": value.why}
    own: dict[str, Json] = {
        "position": value.position,
        "expected": value.expected,
        "expected_unit": value.expected_unit,
        "low": value.low,
        "high": value.high,
        "verdict": value.verdict,
        "why": value.why,
    }
    return {**shared, **own}


def _stretch_json(chart: Chart, one: Stretch) -> dict[str, Json]:
    broken: list[Json] = [
        {
            "rule": each.rule,
            "words": each.words,
            "first_index": each.first,
            "last_index": each.last,
            "in_base": each.in_base,
            "newest": each.last == chart.newest,
        }
        for each in one.broken
    ]
    return {
        "letter": one.letter,
        "lot": one.lot,
        "unit": one.unit,
        "basis": one.basis,
        "n": one.n,
        "limits": _limits_json(one),
        "late": [*one.late],
        "broken": broken,
    }


def _limits_json(one: Stretch) -> dict[str, Json]:
    if one.limits is None:
        return _refused(one.why) if one.why is not None else {}
    lines: dict[str, Json] = {f"lines_{times}_s": [text_of(end) for end in one.limits.at(times)] for times in (1, 2, 3)}
    base: dict[str, Json] = {"base": one.base, "base_n": one.limits.base, "base_runs": [*one.base_runs]}
    return {**base, "centre": text_of(one.limits.mean), "s": text_of(one.limits.s), **lines}


def _refused(why: Refusal) -> dict[str, Json]:
    return {"refused": {**why.told}}
