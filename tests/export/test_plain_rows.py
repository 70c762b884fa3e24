"""The quick look at whole rows only ever says yes: with and without it the same bytes or the same problems."""

from __future__ import annotations

import csv
import dataclasses
import io
from typing import TYPE_CHECKING, Any, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.export.test_delimited import NUMBERS, PLAIN_FILE
from tests.export.test_file_kinds import DELIVERY, profile, row
from tests.export.test_plain_columns import FILES, ODD_NUMBERS, TEXTS

from benchseal.export import delimited
from benchseal.export.own_lines import LINE_ENDS
from benchseal.export.plain_rows import plain_rows
from benchseal.export.render import render
from benchseal.records.profile import Column, FileForm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.problems import Problem
    from benchseal.records.profile import Profile
    from benchseal.records.released import ReleasedRow

FORMS = [
    *(file for file in FILES if file.kind == "delimited"),
    dataclasses.replace(PLAIN_FILE, encoding="utf-16", line_end="lf", header_line=False),
    dataclasses.replace(PLAIN_FILE, bom=True, separator="\t"),
    dataclasses.replace(PLAIN_FILE, encoding="cp437", separator="|"),
]
DAYS = st.dates().map(str) | st.sampled_from(
    ["", "2026-02-29", "2028-02-29", "2026-04-31", "2026-13-01", "0001-01-01", "2026-1-1", "٢٠٢٦-01-01"]
)
MOMENTS = st.builds(
    "{}{}".format, DAYS, st.sampled_from(["", "T10:02:11Z", "T10:02:11.250+01:00", "T24:00:00Z", "T1Z"])
)
ALMOST_PLAIN = st.text(st.sampled_from("aZ09.:/_<()% -"), max_size=4)
COLUMNS = st.sampled_from(
    [
        Column("N", "note"), Column("N3", "note", max_length=3), Column("NR", "note", when_missing="refuse"),
        Column("M", "note", when_missing="text", missing_text="none"), Column("V", "value_number"),
        Column("V5", "value_number", max_length=5), Column("VT", "value_number", form="text"),
        Column("VU", "value_number", unit="ug/g"), Column("LN", "lot_id", form="number"), Column("D", "measured_at"),
        Column("DF", "measured_at", date_form="DD.MM.YYYY"), Column("FX", fixed="50 %s;,"), Column("FR", fixed="=1"),
        Column("NO", "row_no"), Column("PA", "produced_at"), Column("PN", "profile_name"), Column("DI", "delivery_id"),
        Column("MP", "reported_kind", map={"measured": "M"}), Column("FL", "note", form="flag", holds=("a",), yes="y"),
        Column("B", "basis"), Column("S", "expressed_as"), Column("FV", fixed="v"),
    ]
)  # fmt: skip


def with_fields(one: ReleasedRow, fields: dict[str, str]) -> ReleasedRow:
    changed: dict[str, Any] = {**fields}
    return dataclasses.replace(one, **changed)


def slowly(rows: Sequence[ReleasedRow], wanted: Profile) -> bytes | tuple[Problem, ...]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(delimited, "plain_rows", lambda *_: None)
        return render(rows, wanted, DELIVERY)


def quickly(rows: Sequence[ReleasedRow], *columns: Column, file: FileForm = PLAIN_FILE, **words: Any) -> bytes | None:  # noqa: ANN401  any field of Profile
    """What the quick look makes of rows; None where it looks no further."""
    seen: list[bytes | None] = []

    def noted(*given: Any) -> bytes | None:  # noqa: ANN401  as the function itself
        seen.append(plain_rows(*given))
        return seen[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(delimited, "plain_rows", noted)
        render(rows, profile(file, *columns, **words), DELIVERY)
    (found,) = seen  # else the profile was refused before
    return found


@given(
    st.lists(
        st.fixed_dictionaries(
            {
                "note": TEXTS | ALMOST_PLAIN,
                "value_number": NUMBERS | ODD_NUMBERS,
                "lot_id": ALMOST_PLAIN | NUMBERS,
                "measured_at": MOMENTS,
                "basis": st.sampled_from(["as received"] * 4 + ["dry", ""]),
                "expressed_as": st.sampled_from([""] * 4 + ["CdO"]),
                "unit_ucum": st.sampled_from(["ug/g"] * 4 + ["mg/L"]),
            }
        ),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from(FORMS),
    st.lists(COLUMNS, min_size=1, max_size=5, unique_by=lambda column: column.title),
    st.sampled_from(["refuse", "prefix", "keep"]),
)
def test_quick_and_slow_are_the_same(
    fields: list[dict[str, str]], file: FileForm, some: list[Column], risky: str
) -> None:
    rows = [with_fields(row(), one) for one in fields]
    wanted = profile(file, *some, *SAYING, risky_text=risky)
    assert render(rows, wanted, DELIVERY) == slowly(rows, wanted)


SOUND = {
    "note": "a b-c/d <1 %", "lot_id": "007", "value_number": "-0.0670", "measured_at": "2026-07-04T14:02:11.250+02:00",
    "received_at": "2026-12-31",
}  # fmt: skip
SAYING = (Column("K", "reported_kind"), Column("C", "change_kind"), Column("U", "unit_ucum"))
ALL = (
    Column("N", "note"), Column("L", "lot_id"), Column("V", "value_number"), Column("A", "measured_at"),
    Column("R", "received_at"), *SAYING, Column("F", fixed="x,%d"), Column("P", "produced_at"),
)  # fmt: skip


@pytest.mark.parametrize("file", [file for file in FORMS if file.quote != "always" and file.decimal_mark == "."])
def test_the_ordinary_is_plain_and_read_back(file: FileForm) -> None:
    """By the csv module; more rows than are looked at together."""
    rows = [row(**(SOUND | {"lot_id": f"{number:05d}"})) for number in range(9000)]
    some = ALL if file.quote == "needed" or file.separator != "," else ALL[:-2]
    assert quickly(rows, *some, file=file) is not None
    wanted = profile(file, *some)
    data = render(rows, wanted, DELIVERY)
    assert isinstance(data, bytes)
    assert data == slowly(rows, wanted)
    text = data.decode({"utf-16": "utf-16", "cp437": "cp437"}.get(file.encoding, "utf-8-sig"))
    read = [*csv.reader(io.StringIO(text, newline=""), delimiter=file.separator)][bool(file.header_line) :]
    assert [cells[1] for cells in read] == [one.lot_id for one in rows]
    assert {tuple(cells[:1] + cells[2:5]) for cells in read} == {
        ("a b-c/d <1 %", "-0.0670", "2026-07-04T14:02:11.250+02:00", "2026-12-31")
    }


@pytest.mark.parametrize(
    "odd",
    [
        *({"note": text} for text in ("=1", "-lot", " a", "a ", "a,b", 'a"b', "a\nb", "µg", "a\0", "+1", "@x", "'x")),
        *({"value_number": text} for text in ("1.", ".5", "-", "-.5", "1-2", "1.2.3", "+1", "1e5", "\u0663", "1" * 31)),
        *({"received_at": text} for text in ("2026-02-29", "2028-02-29", "2026-04-31", "2026-00-01", "2026-1-1", "x")),
        *({"measured_at": f"2026-01-01{text}"} for text in ("T24:00:00Z", "T10:00:60Z", "T10:00:00", "T10:00Z", " ")),
        {"basis": "dry"}, {"expressed_as": "CdO"}, {"sum_elements": "Cd Pb"},
    ],
)  # fmt: skip
@pytest.mark.parametrize("place", [0, 5000])
def test_one_odd_cell_anywhere_is_not_plain(odd: dict[str, str], place: int) -> None:
    sound = row(**SOUND)
    rows = [sound] * place + [with_fields(sound, odd)] + [sound] * 3
    assert quickly(rows, *ALL) is None


@pytest.mark.parametrize("end", ["crlf", "lf"])
def test_a_cell_that_looks_like_rows_of_its_own_is_one_cell(end: Literal["crlf", "lf"]) -> None:
    """Its separators and line ends make rows as plain as any other: only their number tells."""
    file = dataclasses.replace(PLAIN_FILE, line_end=end)
    forged = f"a,measured,new,ug/g{LINE_ENDS[end]}b"
    rows = [with_fields(row(**SOUND), {"note": forged}), row(**SOUND)]
    columns = (Column("N", "note"), *SAYING)
    assert quickly(rows, *columns, file=file, risky_text="keep") is None
    data = render(rows, profile(file, *columns, risky_text="keep"), DELIVERY)
    assert isinstance(data, bytes)
    read = [*csv.reader(io.StringIO(data.decode(), newline=""))][1:]
    assert [cells[0] for cells in read] == [forged, SOUND["note"]]


@pytest.mark.parametrize(
    "column",
    [
        Column("M", "lot_id", map={"007": "7"}),
        Column("D", "received_at", date_form="DD.MM.YYYY"),
        Column("T", "note", max_length=3),
        Column("V", "value_number", unit="mg/L"),
        Column("E", "client_order_id", when_missing="refuse"),
        Column("E", "client_order_id", when_missing="text", missing_text="none"),
        Column("F", "note", form="flag", holds=("a",), yes="y", no="n"),
        Column("I", "delivery_id", max_length=3),
        Column("NO", "row_no"),
    ],
)
def test_what_a_profile_changes_is_not_plain(column: Column) -> None:
    assert quickly([row(**SOUND)], *SAYING, column, risky_text="prefix") is None
    assert quickly([row(**SOUND)], *SAYING, Column("N", "note")) is not None


@pytest.mark.parametrize(
    "file",
    [
        dataclasses.replace(PLAIN_FILE, quote="always"),
        dataclasses.replace(PLAIN_FILE, separator=";", decimal_mark=","),
    ],
)
def test_what_a_file_changes_is_not_plain(file: FileForm) -> None:
    assert quickly([row(**SOUND)], *ALL, file=file) is None
    assert quickly([], *ALL) is None
