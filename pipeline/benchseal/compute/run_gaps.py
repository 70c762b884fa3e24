"""What the reading numbers of a run leave open, in words: findings, explained or not."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from benchseal.records.run import NumberGap, Run

MOST_NAMED = 20  # of one run: an instrument that counts in tens would fill pages


def number_findings(run: Run) -> tuple[str, ...]:
    """One sentence for each of ``Run.number_gaps``, with the explanation on record, in order."""
    said = tuple(_sentence(gap) for gap in run.number_gaps[:MOST_NAMED])
    more = len(run.number_gaps) - MOST_NAMED
    return said if more <= 0 else (*said, f"{more} more gaps in the reading numbers: look whether the column counts")


def _sentence(gap: NumberGap) -> str:
    words = {"missing": _missing, "set_back": _set_back, "shared": _shared}[gap.kind](gap)
    return f"{words}; explained by {gap.by}: {gap.because}" if gap.because else words


def _missing(gap: NumberGap) -> str:
    lines = " and ".join(map(str, gap.lines))
    if gap.run:
        where = f"between {_in_time(gap, f'line {lines}')}"
    else:
        where = f"between lines {lines}" if gap.at == "inside" else f"before line {lines}"
    if gap.first == gap.last:
        return f"reading number {gap.first} is missing {where}"
    return f"reading numbers {gap.first} to {gap.last} are missing {where}"


def _in_time(gap: NumberGap, here: str) -> str:
    """The other run and this one, in the order in which they were measured."""
    return f"{gap.run} and {here}" if gap.at == "before" else f"{here} and {gap.run}"


def _set_back(gap: NumberGap) -> str:
    line = f"line {gap.lines[0]}"
    one, other = (gap.run, line) if gap.at == "before" else (line, gap.run)
    why = "the counter was set back in between, or a time is wrong"
    return f"the reading numbers fall from {gap.first} ({one}) to {gap.last} ({other}): {why}"


def _shared(gap: NumberGap) -> str:
    one, other = gap.lines
    lines = f"line {one}" if one == other else f"lines {one} to {other}"
    numbers = f"number {gap.first}" if gap.first == gap.last else f"numbers {gap.first} to {gap.last}"
    count = f"{gap.shared} reading{'s' if gap.shared > 1 else ''} ({numbers}, {lines})"
    stand = f"{count} stand{'s' if gap.shared == 1 else ''} in {gap.run} too"
    if gap.other_signals:
        what = f"{gap.other_signals} with another signal there: the counter was set back in between, or one of the two "
        return f"{stand}, {what}files was changed"
    names = f", {gap.other_names} under another name" if gap.other_names else ""
    return f"{stand}, with the same signals{names}: the same readings are here twice"
