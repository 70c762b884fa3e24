"""Files read many at once: whatever a block holds is what the reader makes of each file by itself, to the last line."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import chain
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.ingest import malformed_cells, malformed_files
from tests.ingest.malformed import COMMA, END, PAGE, SEMI, good
from tests.ingest.test_regular import QUICK, exactly

from benchseal.documents.rules_layout import layout_faults
from benchseal.ingest.accounting import accounted
from benchseal.ingest.many import is_regular, read_many
from benchseal.ingest.reader import read_file
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.layout import Column, LineRule, PageForm
from benchseal.records.run import RunDocument

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.ingest.test_regular import Layouts

    from benchseal.ingest.many import ReadMany
    from benchseal.records.block import RunBlock
    from benchseal.records.layout import Layout

CODE_PAGE = {COMMA: "utf-8", SEMI: "cp1252"}


def held(block: RunBlock, nth: int) -> dict[str, object]:
    """What a block says of one run, in the terms of a run document."""
    run = block.runs[nth]
    first, end = block.rows[nth].tolist()
    table = block.table.slice(first, end - first).to_pydict()
    signals = [name for name in table if name.startswith("signal")]
    as_read = tuple(chain.from_iterable(zip(*(table[name] for name in signals), strict=True)))
    alike = [block.distinct[one] for one in block.alike[slice(*block.solutions[nth].tolist())]]
    lines = [block.first_lines[nth] + row for row in range(end - first)]
    return {
        "facts": replace(run.facts, started_at=run.started_at, line=run.line),
        "source": run.source_sha256,
        "label": tuple(one.label for one in alike),
        "kind": tuple(one.kind for one in alike),
        "nominal": tuple(one.nominal for one in alike),
        "dilution": tuple(one.dilution for one in alike),
        "counts": tuple(one.readings for one in alike),
        "signal": tuple(text.replace(block.decimal_mark, ".") for text in as_read),
        "as_read": as_read,
        "lines": tuple(line for line in lines for _ in signals),
        "ended": run.ended_at,
        "clocks": tuple(f"{each:%H:%M:%S}" for each in table.get("taken_at", []) for _ in signals),
        "background": tuple(
            text.replace(block.decimal_mark, ".")
            for text in table.get("background", [""] * len(lines))
            for _ in signals
        ),
        "means": tuple(text.replace(block.decimal_mark, ".") for text in table.get("mean", [])),
    }


def due(document: RunDocument) -> dict[str, object]:
    """The same of the document the reader makes."""
    solutions, readings = document.solutions, document.readings
    assert solutions.position == tuple(range(1, len(solutions.label) + 1))
    return {
        "facts": document.facts,
        "source": document.source_sha256,
        "label": solutions.label,
        "kind": solutions.kind,
        "nominal": solutions.nominal,
        "dilution": solutions.dilution,
        "counts": solutions.reading_count,
        "signal": readings.signal,
        "as_read": readings.as_read,
        "lines": readings.line,
        "ended": max(readings.taken_at, default=""),
        "clocks": tuple(each[11:] for each in readings.taken_at if each),
        "background": readings.background,
        "means": document.means.mean,
    }


def with_last(digit: int) -> Callable[[re.Match[str]], str]:
    """A number with another last digit."""
    return lambda found: f"{found[1]}{digit}"


def compared(files: list[bytes], layouts: Layouts, name: str) -> ReadMany:
    """Read many at once, every file of a block compared with what the reader says of it."""
    ref, layout = layouts[name]
    many = read_many(files, layout, ref)
    found = {(run.file, run.section): held(block, nth) for block in many.blocks for nth, run in enumerate(block.runs)}
    for index, data in enumerate(files):
        read = read_file(data, "x", layout, ref)
        if index in many.left:
            assert not any(file == index for file, _ in found)
            continue
        documents = [each for each in read if isinstance(each, RunDocument)]
        assert len(documents) == len(read), read
        assert [found[index, nth] for nth in range(len(documents))] == [due(each) for each in documents]
        assert (index, len(documents)) not in found
    return many


@pytest.mark.parametrize("name", [COMMA, SEMI])
def test_ordinary_files_are_read_so(name: str, layouts: Layouts) -> None:
    plain = good(name).replace(END, b"\n")
    many = compared([good(name), plain, good(name)], layouts, name)
    assert many.left == ()
    assert sum(len(block.runs) for block in many.blocks) == 3 * (2 if name == SEMI else 1)


def test_a_file_of_another_encoding_is_left_and_refused(layouts: Layouts) -> None:
    """The program of the instrument writes UTF-8 since its renewal: units and names would be other signs."""
    ref, layout = layouts[SEMI]
    text = good(SEMI).decode("cp1252")
    assert not text.isascii()
    loose = replace(layout, head=tuple(replace(one, line=re.sub("[·°]", ".+", one.line)) for one in layout.head))
    for by in (layout, loose):
        files = [good(SEMI), text.encode(), b"\xef\xbb\xbf" + good(SEMI)]
        assert {1, 2} <= set(read_many(files, by, ref).left)
        for data in files[1:]:
            (problem,) = read_file(data, "x", by, ref)
            assert isinstance(problem, Problem)
            assert problem.code == "ingest.encoding-differs"
            seen = accounted(data, "x", by, ref)
            assert seen.problems == (problem,)
            assert len(seen.lines) == text.count("\n") + 1, "the lines are shown as they are read"


@pytest.mark.parametrize("name", [COMMA, SEMI])
def test_files_of_other_times_and_digits_are_read_so_too(name: str, layouts: Layouts) -> None:
    text = good(name).decode(CODE_PAGE[name])
    files = []
    for nth in range(30):
        other = re.sub(r"([.,]\d\d)\d(?=[,;])", with_last(nth % 10), text)
        other = other.replace("2026-03-02", f"2026-03-{nth + 1:02}").replace("02.03.2026", f"{nth + 1:02}.03.2026")
        files.append(other.encode(CODE_PAGE[name]))
    assert compared(files, layouts, name).left == ()


@pytest.mark.parametrize("name", [COMMA, SEMI])
def test_exponents_of_three_figures_are_read_and_left_to_the_exact_reader(name: str, layouts: Layouts) -> None:
    ref, layout = layouts[name]
    mark = layout.file.decimal_mark.encode()
    text, times = re.subn(rb"(?<=[;,])0\%s00(\d)(\d)(?=[;,])" % mark, rb"\1%s\2E-003" % mark, good(name), count=1)
    assert times == 1
    assert compared([text, good(name)], layouts, name).left == (0,)
    read = read_file(text, "x", layout, ref)
    assert read == exactly(text, layout, ref)
    for run, same in zip(read, read_file(good(name), "x", layout, ref), strict=True):
        assert isinstance(run, RunDocument)
        assert isinstance(same, RunDocument)
        assert run.readings.signal == same.readings.signal


def test_a_number_with_the_other_mark_points_to_the_layout(layouts: Layouts) -> None:
    ref, layout = layouts[SEMI]
    text = re.sub(rb"(?<=;)0,(\d+)(?=;)", rb"0.\1", good(SEMI), count=1)
    found = read_file(text, "x", layout, ref)
    assert any("decimal_mark '.'" in each.remedy for each in found if isinstance(each, Problem)), found


@pytest.mark.parametrize("clock", ["HH:mm:ss", "HHmmss"])
def test_days_and_times_without_separators_are_read_alike(clock: str, layouts: Layouts) -> None:
    ref, layout = layouts[COMMA]
    text = good(COMMA).replace(b"2026-03-02", b"20260302")
    if clock == "HHmmss":
        text = re.sub(rb"\b(\d\d):(\d\d):(\d\d)\b", rb"\1\2\3", text)
    form = replace(layout, file=replace(layout.file, date_form="YYYYMMDD", time_form=clock))
    assert not list(layout_faults(form))
    cut = text.replace(b"20260302", b"2026032")
    assert is_regular(form) == (clock == "HH:mm:ss"), "others are read one by one"
    if is_regular(form):
        assert compared([text, text, cut], {COMMA: (ref, form)}, COMMA).left == (2,)
    (run,), (same,) = read_file(text, "x", form, ref), read_file(good(COMMA), "x", layout, ref)
    assert isinstance(run, RunDocument)
    assert isinstance(same, RunDocument)
    assert (run.facts, run.readings.taken_at) == (same.facts, same.readings.taken_at)
    assert (run,) == exactly(text, form, ref)
    (problem,) = read_file(cut, "x", form, ref)
    assert isinstance(problem, Problem)
    assert "YYYYMMDD" in problem.what


def test_every_malformed_file_is_left(layouts: Layouts) -> None:
    families = (
        malformed_files.encodings, malformed_files.control_signs, malformed_files.not_text, malformed_files.archives,
        malformed_files.empty, malformed_files.doubled_lines, malformed_files.lost_lines, malformed_files.cut,
        malformed_files.headers, malformed_cells.cells_wrong, malformed_cells.dates, malformed_cells.times,
        malformed_cells.numbers, malformed_cells.ambiguous, malformed_cells.signs, malformed_cells.labels,
        malformed_cells.words, malformed_cells.elements, malformed_cells.counts, malformed_cells.noise,
        malformed_cells.long_lines, malformed_cells.kinds,
    )  # fmt: skip
    cases = [each for family in families for each in family()]
    for name in (COMMA, SEMI):
        bad = [case.data for case in cases if case.layout == name]
        mixed = [good(name), *bad, good(name)]
        many = compared(mixed, layouts, name)
        assert set(many.left) == set(range(1, len(bad) + 1))
        assert len(bad) > 50


@QUICK
@given(data=st.data(), name=st.sampled_from([COMMA, SEMI]))
def test_a_mutated_file_is_read_alike_or_left(data: st.DataObject, name: str, layouts: Layouts) -> None:
    whole = good(name)
    for _ in range(data.draw(st.integers(1, 3))):
        at, cut = data.draw(st.integers(0, len(whole) - 1)), data.draw(st.sampled_from([0, 1, 2, 20]))
        signs = [
            b" ", b"\t", b";", b",", END, b"\f", b"-", b"0", b"9", b".", b"\xb5", b'"', b"\x1a", b"E5", b"00:00:00",
            b"1,", b"\n1", b"\r",
        ]  # fmt: skip
        whole = whole[:at] + data.draw(st.sampled_from(signs) | st.binary(max_size=3)) + whole[at + cut :]
    compared([good(name), whole, whole], layouts, name)


@QUICK
@given(data=st.data(), name=st.sampled_from([COMMA, SEMI]))
def test_lines_doubled_lost_moved_or_of_other_digits(data: st.DataObject, name: str, layouts: Layouts) -> None:
    files = [good(name)]
    for _ in range(data.draw(st.integers(1, 3))):
        lines = good(name).split(END)
        place = st.integers(0, len(lines) - 1)
        first, second = data.draw(place), data.draw(place)
        match data.draw(st.sampled_from(["doubled", "lost", "moved", "blank", "digit", "digit", "digit"])):
            case "doubled":
                lines.insert(second, lines[first])
            case "lost":
                del lines[first]
            case "moved":
                lines[first], lines[second] = lines[second], lines[first]
            case "digit":
                line = lines[first]
                digits = [at for at, sign in enumerate(line) if chr(sign).isdigit()]
                if digits:
                    at = data.draw(st.sampled_from(digits))
                    lines[first] = line[:at] + data.draw(st.sampled_from([b"0", b"1", b"5", b"9"])) + line[at + 1 :]
            case _:
                lines.insert(first, data.draw(st.sampled_from([b"", b"  ", b"\t", b"\xa0"])))
        files.append(END.join(lines))
    compared(files, layouts, name)


def test_times_past_midnight_and_back(layouts: Layouts) -> None:
    text = good(COMMA).decode()
    clocks = re.findall(r"\d\d:\d\d:\d\d", text)
    late = text
    for nth, clock in enumerate(clocks):
        seconds = 23 * 3600 + 50 * 60 + nth * 30
        moved = f"{seconds // 3600 % 24:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
        late = late.replace(clock, moved, 1)
    many = compared([late.encode()], layouts, COMMA)
    assert many.left == ()
    assert many.blocks[0].runs[0].ended_at[:10] == "2026-03-03"
    back = late.replace("23:55:00", "23:40:00", 1)
    assert compared([back.encode()], layouts, COMMA).left == (0,)


def test_a_reading_that_stands_there_twice_is_left(layouts: Layouts) -> None:
    """Same solution, second and signal in rows below each other: both exact and quick ways say no."""
    lines = good(COMMA).split(END)
    at = next(nth for nth, line in enumerate(lines) if line.startswith(b"1,") and line.split(b",")[5] == b"1")
    one, two = lines[at].split(b","), lines[at + 1].split(b",")
    other = END.join([*lines[: at + 1], b",".join([*two[:8], one[8], *two[9:]]), *lines[at + 2 :]])
    again = END.join([*lines[: at + 1], b",".join([*two[:6], one[6], two[7], one[8], *two[9:]]), *lines[at + 2 :]])
    assert one[6] != two[6]
    assert compared([good(COMMA), other, again], layouts, COMMA).left == (2,)
    ref, layout = layouts[COMMA]
    (problem,) = read_file(again, "x", layout, ref)
    assert isinstance(problem, Problem)
    assert problem.code == "ingest.reading-twice"


def test_a_line_that_looks_like_the_header_takes_nothing_with_it(layouts: Layouts) -> None:
    """Rows below a line of the head that begins as the header does would be taken away, were they not missed."""
    ref, layout = layouts[COMMA]
    text = good(COMMA).decode()
    head, _, rest = text.partition("Place,Name")
    hidden = "Place,of the bench\r\n1,X,sample,,1,1,0.1,0.1,09:15:00\r\nEnd of readings,1\r\n"
    odd = [f"{head}{hidden}Place,Name{rest}".encode(), f"{hidden}{text}".encode()]
    assert compared(odd, layouts, COMMA).left == (0, 1)
    looser = replace(layout, head=(*layout.head, replace(layout.head[0], line="Place,.*", needed=False)))
    assert read_many(odd, looser, ref).left == (0, 1)


def test_what_only_the_exact_reader_reads(layouts: Layouts) -> None:
    """Words among the signals, quotes, other signs: they are left, and read there."""
    ref, layout = layouts[COMMA]
    text = good(COMMA).decode()
    odd = [text.replace("0.0", "above-top", 1), text.replace(",sample,", ", sample,", 1), text.replace("A-", "Ä-", 1)]
    files = [each.encode() for each in odd if each != text]
    assert compared(files, layouts, COMMA).left == tuple(range(len(files)))
    assert any(not isinstance(read_file(data, "x", layout, ref)[0], Problem) for data in files)


OTHERWISE = {
    "pages": {"pages": (PageForm((), repeats_header=False),)},
    "drop": {"drop_lines": ("#.*",)},
}


@pytest.mark.parametrize("change", list(OTHERWISE))
def test_layouts_that_cannot_be_read_so(change: str, layouts: Layouts) -> None:
    ref, layout = layouts[COMMA]
    other = replace(layout, **OTHERWISE[change])  # type: ignore[arg-type]  # fields by name
    assert is_regular(layout)
    assert not is_regular(other)
    with pytest.raises(ValueError, match="many at once"):
        read_many([good(COMMA)], other, ref)


def test_other_forms_of_tables_are_not_regular(layouts: Layouts) -> None:
    layout = layouts[COMMA][1]
    table, form = layout.table, layout.file
    first = table.columns[0]
    others: list[Layout] = [
        replace(layout, table=replace(table, columns=table.columns[1:])),
        replace(layout, table=replace(table, columns=(replace(first, carried=True), *table.columns[1:]))),
        replace(layout, table=replace(table, columns=(*table.columns, Column("Nr", "reading_number")))),
        replace(layout, table=replace(table, columns=(*table.columns, Column("Day", "day")))),
        replace(layout, table=replace(table, columns=(*table.columns, Column("Mean", "mean")))),
        replace(layout, table=replace(table, columns=(*table.columns, replace(table.columns[1], header="Again")))),
        replace(layout, table=replace(table, transposed=True)),
        replace(layout, table=replace(table, each_row="solution")),
        replace(layout, file=replace(form, encoding="utf-16")),
        replace(layout, file=replace(form, separator="blanks")),
        replace(layout, file=replace(form, thousands_mark="'")),
        replace(layout, file=replace(form, time_form="HH.mm.ss")),
        replace(layout, file=replace(form, decimal_mark=",")),
        replace(layout, section=replace(layout.section, ends="[0-9]+ readings"), last_line=""),
        replace(layout, section=replace(layout.section, ends="5 readings"), last_line=""),
        replace(layout, last_line="(?P<count_readings>[0-9]+) readings"),
        replace(layout, head=(*layout.head, LineRule("(?P<count_solutions>[0-9]+) solutions", needed=False))),
        layouts[PAGE][1],
    ]
    assert [is_regular(each) for each in others] == [False] * len(others)


def test_digests_are_of_the_bytes_as_they_came(layouts: Layouts) -> None:
    ref, layout = layouts[COMMA]
    (block,) = read_many([good(COMMA)], layout, ref).blocks
    assert block.runs[0].source_sha256 == digest(good(COMMA))
    assert block.layout == ref
