"""Descriptions beside a delimited file, read by ``csvw`` and ``frictionless``: both give back the released rows."""

from __future__ import annotations

import dataclasses
import json
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import frictionless
import pytest
from csvw import Table
from frictionless import Package
from tests.export.test_file_kinds import ROWS as ALL_ROWS
from tests.export.test_file_kinds import columns, profile, rendered, row

from benchseal.export.descriptors import csvw, data_package
from benchseal.export.profiles import check_profile
from benchseal.records.profile import Column, FileForm

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.records.profile import Profile

PLAIN = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
FILES = {
    "plain": PLAIN,
    "semicolons and decimal commas": FileForm("windows-1252", ";", "needed", "crlf", ",", header_line=True),
    "tabs, all quoted, line feeds": FileForm("iso-8859-1", "\t", "always", "lf", ".", header_line=True),
    "without header": dataclasses.replace(PLAIN, header_line=False),
}
LONG = {"value_number": "12345678901234567890.12345678"}  # 28 figures: these readers keep no more
ROWS = [fields | LONG if len(fields.get("value_number", "")) > 28 else fields for fields in ALL_ROWS]
TEXT = 'two; "w"\té'


def wanted(file: FileForm, **words: Any) -> Profile:  # noqa: ANN401  any field of Profile
    more = (Column("NOTE", "note", when_missing="refuse"), Column("LAB", fixed="Tüv"))
    return profile(file, *columns(*more), **words)


def put(folder: Path, made: Profile) -> bytes:
    rows = [row(**fields | {"note": TEXT}) for fields in ROWS]
    data = rendered(rows, made)
    (folder / "x.csv").write_bytes(data)
    (folder / "x.csv-metadata.json").write_text(json.dumps(csvw(made, "x.csv")), encoding="utf-8")
    (folder / "x.datapackage.json").write_text(json.dumps(data_package(made, "x.csv", data)), encoding="utf-8")
    return data


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize("opening", [(), ("H;{delivery_id}", "second;line")], ids=["bare", "opening lines"])
def test_csvw_gives_back_every_cell_with_its_type(name: str, opening: tuple[str, ...], tmp_path: Path) -> None:
    made = wanted(FILES[name], opening_lines=opening)
    put(tmp_path, made)
    read = list(Table.from_file(tmp_path / "x.csv-metadata.json"))
    assert [one["row_no"] for one in read] == [1, 2, 3, 4, 5]
    exact = [Decimal(fields["value_number"]) if "value_number" in fields else None for fields in ROWS]
    assert [one["value_number"] for one in read] == exact
    assert [one["value_text"] for one in read] == [fields.get("value_text") for fields in ROWS]
    assert [one["lot_id"] for one in read] == [None, "007", "1E5", None, None]
    assert read[0]["measured_at"] == datetime(2026, 7, 4, 14, 2, 11, 250000, UTC)
    assert {one["note"] for one in read} == {TEXT}
    assert read[0]["fixed_12"] == "Tüv"


@pytest.mark.parametrize("name", [name for name, file in FILES.items() if file.header_line])
@pytest.mark.parametrize("opening", [(), ("H;{delivery_id}",)], ids=["bare", "opening line"])
def test_a_data_package_is_valid_and_gives_back_every_cell(name: str, opening: tuple[str, ...], tmp_path: Path) -> None:
    made = wanted(FILES[name], opening_lines=opening)
    put(tmp_path, made)
    with frictionless.system.use_context(trusted=True):
        package = Package(str(tmp_path / "x.datapackage.json"))
        report = package.validate()
        assert report.valid, report.flatten(["title", "message"])
        (resource,) = package.resources
        with resource as opened:
            read = [dict(one) for one in opened.read_rows()]
    exact = [Decimal(fields["value_number"]) if "value_number" in fields else None for fields in ROWS]
    assert [one["VALUE"] for one in read] == exact
    assert [one["TEXT"] for one in read] == [fields.get("value_text") for fields in ROWS]
    assert read[1]["IN"] == date(2026, 2, 28)
    assert {one["NOTE"] for one in read} == {TEXT}
    assert [one["NO"] for one in read] == [1, 2, 3, 4, 5]


@pytest.mark.parametrize("harm", ["a byte", "a row", "a cell"])
def test_a_data_package_shows_a_file_that_is_not_its_own(harm: str, tmp_path: Path) -> None:
    data = put(tmp_path, wanted(PLAIN))
    lines = data.splitlines(keepends=True)
    harmed = {
        "a byte": data.replace(b"0.0670", b"0.0671"),
        "a row": b"".join(lines[:-1]),
        "a cell": data.replace(b",-0.0021,ug/g", b",x,ug/g"),
    }[harm]
    assert harmed != data
    (tmp_path / "x.csv").write_bytes(harmed)
    with frictionless.system.use_context(trusted=True):
        assert not Package(str(tmp_path / "x.datapackage.json")).validate().valid


def test_key_types_and_titles_are_those_of_the_columns() -> None:
    made = profile(PLAIN, *columns(Column("REV", "revision"), Column("NO2", "row_no")))
    described = csvw(made, "x.csv")
    schema: Any = described["tableSchema"]
    assert schema["primaryKey"] == ["result_id", "revision"]
    named = {one["titles"]: one["name"] for one in schema["columns"]}
    assert (named["ID"], named["REV"]) == ("result_id", "revision")
    assert len(set(named.values())) == len(named)
    package: Any = data_package(made, "x.csv", b"")
    assert package["resources"][0]["schema"]["primaryKey"] == ["ID", "REV"]
    without = profile(PLAIN, *columns())
    keyless: Any = csvw(without, "x.csv")["tableSchema"]
    assert "primaryKey" not in keyless


def test_a_date_in_the_receivers_form_is_text() -> None:
    made = profile(PLAIN, *columns(Column("D", "received_at", date_form="DD.MM.YYYY")))
    package: Any = data_package(made, "x.csv", b"")
    types = {one["name"]: one["type"] for one in package["resources"][0]["schema"]["fields"]}
    assert (types["D"], types["IN"], types["AT"]) == ("string", "date", "datetime")


@pytest.mark.parametrize("word", ["csvw", "table_schema"])
def test_a_description_that_would_not_fit_is_refused(word: Any) -> None:  # noqa: ANN401  a word of the profile
    lines = profile(FileForm(kind="json_lines"), *columns(), beside=(word,))
    closed = profile(PLAIN, *columns(), beside=(word,), closing_lines=("T",))
    for made in (lines, closed):
        assert [(one.code, one.where) for one in check_profile(made)] == [
            ("profile.beside-unfit", "profile partner, beside")
        ]
    assert check_profile(profile(PLAIN, *columns(), beside=(word,))) == ()
