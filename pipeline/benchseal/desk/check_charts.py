"""Control charts of checks for paper: a picture with the limits of each standard lot, and tables of their numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal import __version__
from benchseal.certificate import wording
from benchseal.certificate.chart_page import ChartPage
from benchseal.certificate.language import MINUS
from benchseal.certificate.run_report import TEXT_WIDTH, Column, Figure, Part, Table
from benchseal.compute.history_chart import base_words, newest_broken, places_of, rounded, text_of
from benchseal.compute.run_numbers import shown
from benchseal.desk.clock import stamp
from benchseal.desk.record_reports import printed_person
from benchseal.identity.statements import local_time
from benchseal.pictures.check_chart import CheckData, Line, Value, check_picture
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.control_chart import Limits, RuleSet
    from benchseal.compute.history_chart import Chart, Stretch
    from benchseal.compute.history_chart import Value as Found
    from benchseal.desk.histories import Asked, Series
    from benchseal.desk.site import Site
    from benchseal.records.quantities import PlainDecimal
    from benchseal.store.sqlite import SqliteReading

VALUES_A_PICTURE: Final = 50
_HEIGHT: Final = 190.0
_HEIGHT_OF_FEW: Final = 105.0  # without limits there are no lines whose names need room
_FAILED: Final = {"fail": "fails", "not_evaluated": "not judged"}
_SETS: Final = {"western_electric": "Western Electric (W)", "nelson": "Nelson (N)"}
_NO: Final = Column("no.", 5, figures=True)


def charts_page(  # noqa: PLR0913  what was asked, by whom, and what was found
    site: Site,
    view: SqliteReading,
    asked: Asked,
    sets: Sequence[RuleSet],
    charts: Sequence[tuple[Series, Chart]],
    *,
    person: str,
) -> ChartPage:
    """The paper of charts that have values; each as far as it was asked for. Nothing is calculated here."""
    row = view.row("site", ledger=site.ledger) or {}
    now, zone = stamp(site.clock()), str(row.get("zone", "UTC"))
    broken = [of.where for of, chart in charts if newest_broken(chart)]
    without = any(one.limits is None for _, chart in charts for one in chart.stretches)
    stand = "The newest value of no chart is part of a broken run rule."
    if broken:
        stand = f"The newest value is part of a broken run rule: {', '.join(broken)}."
    elif without:
        stand = "No newest value is part of a broken run rule; not every lot has limits."
    narrowed = [("standard lot", asked.lot), ("from", asked.first), ("to", asked.last)]
    return ChartPage(
        subject=asked.method,
        stand=stand,
        stand_kind="open" if broken or without else "complies",
        laboratory=str(row.get("name", "")),
        address=str(row.get("address", "")).replace("\n", ", "),
        program=f"benchseal {__version__}",
        made_at=f"{now[:19]}Z",
        about=(
            ("method", asked.method),
            ("run rules", ", ".join(_SETS[one] for one in sets)),
            *((f"only {label}", text) for label, text in narrowed if text),
            ("made", f"{local_time(now, zone)}, {now[:19].replace('T', ' ')} UTC, by {printed_person(view, person)}"),
            ("ledger", f"{site.ledger}, {view.size()} entries"),
            ("what this is", "control charts for a look: not sealed, not a certificate; a broken rule proves nothing"),
        ),
        parts=tuple(chart_part(of, chart) for of, chart in charts),
    )


def chart_part(of: Series, chart: Chart) -> Part:
    """One chart: a picture for each standard lot, then limits, values and broken rules."""
    named = f"{of.named} on {of.instrument}"
    values = f"Values of {named}, in order of measurement"
    rules = _rules(chart)
    figures = tuple(
        _figure(of, chart, stretch, rules, places, numbers=values)
        for stretch in chart.stretches
        for places in _in_pieces(stretch.places)
    )
    broken = _broken_table(chart, named)
    tables = (_limits_table(chart, named), *((broken,) if broken.rows else ()), _values_table(chart, values, rules))
    return Part(named, (*figures, *tables))


def _in_pieces(places: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Places in pieces of nearly the same number, so many as a picture holds."""
    count = -(-len(places) // VALUES_A_PICTURE)
    for nth in range(count):
        yield tuple(places[nth * len(places) // count : (nth + 1) * len(places) // count])


def _figure(  # noqa: PLR0913  a piece of a stretch of a chart
    of: Series, chart: Chart, stretch: Stretch, rules: dict[int, list[str]], places: Sequence[int], *, numbers: str
) -> Figure:
    data = CheckData(
        subject=f"{of.rule} on {of.instrument}, lot {stretch.letter} ({stretch.lot})",
        x_title="value no.",
        y_quantity="found",
        y_unit=unit_shown(stretch.unit),
        values=tuple(_value(chart.values[place], place, rules) for place in places),
        lines=tuple(lines_of(stretch.limits)) if stretch.limits else (),
        joined=True,
        missing=tuple(nth for nth, one in enumerate(chart.values, 1) if not one.found),
    )
    picture = check_picture(data, TEXT_WIDTH, _HEIGHT if data.lines else _HEIGHT_OF_FEW)
    base = base_words(stretch, stretch.limits) if stretch.limits else f"no limits: {stretch.why and stretch.why.what}"
    some = "" if len(places) == len(stretch.places) else f", values no. {places[0] + 1} to {places[-1] + 1}"
    caption = (
        f"{data.subject}{some}; {base.removesuffix('.')}. A circle is within all rules; a cross, or an arrow for a "
        "value far off, has its rule or verdict beside it: W1 is rule 1 of Western Electric, N1 of Nelson."
    )
    return Figure("check_chart", picture, caption, numbers, picture.notes)


def lines_of(limits: Limits) -> Iterator[Line]:
    """Mean, 2 s and 3 s of a lot, as lines with their numbers."""
    places = places_of(limits)
    low, high = limits.at(2), limits.at(3)
    yield Line(float(limits.mean), f"mean {_rounded(text_of(limits.mean), places)}", "middle")
    for name, ends, kind in (("2 s", low, "warning"), ("3 s", high, "limit")):
        for sign, end in zip((MINUS, "+"), ends, strict=True):
            yield Line(float(end), f"{sign}{name} {_rounded(text_of(end), places)}", kind)  # type: ignore[arg-type]


def _value(one: Found, place: int, rules: dict[int, list[str]]) -> Value:
    said = [*rules.get(place, ()), *([_FAILED[one.verdict]] if one.verdict in _FAILED else [])]
    return Value(place + 1, float(one.found), ", ".join(said))


def _rules(chart: Chart) -> dict[int, list[str]]:
    """For each place the rules it is part of breaking: ``W1``."""
    found: dict[int, list[str]] = {}
    for stretch in chart.stretches:
        for one in stretch.broken:
            for place in (at for at in stretch.places if one.first <= at <= one.last):
                own = found.setdefault(place, [])
                if _short(one.rule) not in own:
                    own.append(_short(one.rule))
    return found


def _short(rule: str) -> str:
    """``western_electric 1`` as ``W1``."""
    name, _, number = rule.partition(" ")
    return f"{name[0].upper()}{number}"


def _limits_table(chart: Chart, named: str) -> Table:
    columns = (
        Column("lot", 4), Column("standard lot", 18), Column("values", 7, figures=True), Column("limits rest on", 26),
        Column("mean", 10, figures=True), Column("s", 7, figures=True),
        Column("2 s", 14), Column("3 s", 14),
    )  # fmt: skip
    return Table(f"Limits of {named}", columns, tuple(_limits_row(one) for one in chart.stretches))


def _limits_row(one: Stretch) -> tuple[str, ...]:
    first = (one.letter, ", ".join(filter(None, (one.lot, unit_shown(one.unit)))), str(one.n))
    if one.limits is None:
        return (*first, f"none: {one.why.what if one.why else ''}", "", "", "", "")
    places = places_of(one.limits)
    late = f"; came in, or calculated again, later: {', '.join(one.late)}" if one.late else ""
    base = base_words(one, one.limits) + late
    reach = [" to ".join(_rounded(text_of(end), places) for end in one.limits.at(times)) for times in (2, 3)]
    return (*first, base, _rounded(text_of(one.limits.mean), places), shown(text_of(one.limits.s), 3), *reach)


def _broken_table(chart: Chart, named: str) -> Table:
    columns = (Column("rule", 8), Column("what it says", 52), Column("values no.", 20), Column("lot", 20))
    rows = tuple(
        (
            _short(each.rule),
            each.words,
            f"{each.first + 1}" if each.first == each.last else f"{each.first + 1} to {each.last + 1}",
            f"{one.letter}{', begun in the base' if each.in_base else ''}",
        )
        for one in chart.stretches
        for each in one.broken
    )
    return Table(f"Run rules broken by {named}", columns, rows)


def _values_table(chart: Chart, caption: str, rules: dict[int, list[str]]) -> Table:
    columns = (
        _NO, Column("run", 12), Column("place", 8, figures=True), Column("measured (UTC)", 20),
        Column("found", 13, figures=True), Column("expected", 13, figures=True),
        Column("verdict", 13), Column("lot", 6), Column("rules", 10),
    )  # fmt: skip
    by_key = {one.key: one for one in chart.stretches}
    rows = tuple(_values_row(one, nth, by_key.get(one.key), rules) for nth, one in enumerate(chart.values))
    return Table(caption, columns, rows)


def _values_row(one: Found, nth: int, stretch: Stretch | None, rules: dict[int, list[str]]) -> tuple[str, ...]:
    found = "none"
    if one.found:
        limits = stretch.limits if stretch else None
        found = _rounded(one.found, places_of(limits)) if limits else wording.printed(shown(one.found))
    at = one.measured_at.replace("T", " ")[:16]
    verdict = _FAILED.get(one.verdict, one.verdict) if one.verdict == "not_evaluated" else one.verdict
    letter = stretch.letter if stretch else ""
    place, found = str(one.position or ""), f"{found} {unit_shown(one.unit)}".rstrip() if one.found else found
    expected = f"{wording.printed(one.expected)} {unit_shown(one.expected_unit)}".strip()
    return (str(nth + 1), one.run, place, at, found, expected, verdict, letter, ", ".join(rules.get(nth, ())))


def _rounded(text: PlainDecimal, places: int) -> str:
    """As ``rounded``, in print."""
    return wording.printed(rounded(text, places))
