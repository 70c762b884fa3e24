"""Drafts of the twelve shapes: made from one file, corrected in at most two lines, tried on another file."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.shapes.drafts import EDITS, FIRST_SEED, drafted, edited, edits_of
from tests.shapes.made import SHAPES
from tests.shapes.reading import assert_read, described, made

from benchseal.cli import main
from benchseal.documents.reading import read_document
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.draft_text import draft_yaml
from benchseal.ingest.picture import LETTERS, picture_html, picture_text
from benchseal.ingest.reader import read_file
from benchseal.problems import Problem

if TYPE_CHECKING:
    from tests.shapes.made import Shape

MOST_LINES = 2
# What each draft needs before it reads a second file; the table of README.md beside this says why.
NEEDED = dict.fromkeys(SHAPES, 0) | {"many_files": 2, "missing_facts": 3}
HOLDS = [name for name, lines in NEEDED.items() if lines <= MOST_LINES]
# Words of a shape, and others. ``tag`` is a day to the German list.
OTHER_WORDS = {
    "calibration_only": {"unit no.": "rig", "metal": "element", "atomiser": "burner", "display": "dial",
                         "solution": "potion", "type": "tag", "mg/L": "aim"},
    "results_only": {"Machine": "Rig", "Line": "Gleam", "Mode": "Burner", "Role": "Tag", "Pos;": "Ord;"},
    "printer_capture": {"analyte": "quarry", "wavelength": "gleam     ", "typ ": "tag "},
    "many_elements": {"way:": "path:", "begun:": "from:", "level": "aim", "dilution": "folding", "sort": "tag"},
    "utf_16": {"Platz": "Stand", "Art": "Tag", "Soll": "Ziel", "Verd.": "Fach"},
    "page_437": {"typ": "tag", "dil": "fld", "MERCURY CELL": "QUICK VESSEL"},
    "ragged_blanks": {"species": "quarry", "station ": "machina ", "factor": "fold", "role": "tag"},
    "transposed": {"device": "rig", "kind": "tag", "dilution": "fold", "mg/L": "aim"},
    "side_by_side": {"instrument": "rig", "begin": "from", '"df"': '"fo"'},
    "height_and_area": {"dil": "fld", "firing": "shots", "ug/L": "aim"},
}  # fmt: skip
README = Path(__file__).parent / "README.md"


def _second(name: str, seed: int) -> Shape:
    """A second shape of the kind. Where no file says the serial number, both files are of one instrument."""
    shape, first = made(name, seed), made(name, FIRST_SEED)
    if not shape.supplied:
        return shape
    serial = first.supplied["instrument_serial"]
    return replace(shape, runs=tuple(replace(run, instrument_serial=serial) for run in shape.runs))


def test_nine_of_twelve_hold() -> None:
    assert len(HOLDS) >= 9
    assert {path.stem for path in EDITS.glob("*.patch")} == {name for name, lines in NEEDED.items() if lines}


@pytest.mark.parametrize("name", SHAPES)
def test_the_lines_somebody_has_to_correct_are_counted(name: str) -> None:
    assert sum(edit.lines for edit in edits_of(name)) == NEEDED[name]


@pytest.mark.parametrize("seed", [2, 3, 4])
@pytest.mark.parametrize("name", SHAPES)
def test_a_corrected_draft_reads_another_file(name: str, seed: int) -> None:
    text = edited(drafted(name)[0], edits_of(name))
    assert_read(name, _second(name, seed), described(text))


@pytest.mark.parametrize("name", [name for name, lines in NEEDED.items() if not lines])
def test_a_draft_that_needs_nothing_needs_nothing_from_other_files_too(name: str) -> None:
    """It is no luck of one seed."""
    for seed in (5, 6, 7):
        assert_read(name, made(name, seed + 100), described(drafted(name, seed)[0]))


@pytest.mark.parametrize("name", OTHER_WORDS)
def test_drafts_do_not_rest_on_the_words_of_these_shapes(name: str) -> None:
    """Keys and headers the lists may know are words of no trade here, or mean something else to the lists."""
    codec = {"results_only": "cp1252", "printer_capture": "cp850", "page_437": "cp437", "utf_16": "utf-16"}.get(
        name, "utf-8"
    )
    shapes = []
    for seed in (FIRST_SEED, 2):
        shape = made(name, seed)
        ((source, data),) = shape.files.items()
        text = data.decode(codec)
        for old, new in OTHER_WORDS[name].items():
            assert old in text
            text = text.replace(old, new)
        shapes.append(replace(shape, files={source: text.encode(codec)}))
    ((source, data),) = shapes[0].files.items()
    draft = proposed(data, source, "reworded")
    assert isinstance(draft, Draft)
    assert_read(name, shapes[1], described(draft_yaml(draft, source, ())))


@pytest.mark.parametrize("name", [name for name, lines in NEEDED.items() if lines])
def test_a_draft_that_needs_corrections_is_refused_without_them(name: str) -> None:
    """Each stored edit is needed: without any one of them the second file is not read, and never read wrongly."""
    edits = edits_of(name)
    for left_out in range(len(edits)):
        text = edited(drafted(name)[0], edits[:left_out] + edits[left_out + 1 :])
        if isinstance(read_document(text.encode(), "x.yaml"), tuple):
            continue  # a '?' nobody answered
        with pytest.raises(AssertionError, match=r"ingest\.(position-gap|kind-unknown)"):
            assert_read(name, _second(name, 2), described(text))


@pytest.mark.parametrize("name", SHAPES)
def test_a_draft_refuses_a_file_that_was_cut_off(name: str) -> None:
    known = described(edited(drafted(name)[0], edits_of(name)))
    codec = {"windows-1252": "cp1252"}.get(known.layout.file.encoding, known.layout.file.encoding)
    for source, data in made(name, 2).files.items():
        lines = data.decode(codec).splitlines(keepends=True)
        refused = read_file("".join(lines[:-1]).encode(codec), source, known.layout, known.ref)
        assert {each.code for each in refused if isinstance(each, Problem)} == {"ingest.cut-off"}


@pytest.mark.parametrize("name", SHAPES)
def test_every_line_of_the_file_is_in_both_pictures(name: str) -> None:
    _, told = drafted(name)
    text, page = "\n".join(picture_text(told)), picture_html(told, name)
    assert page.startswith("<!doctype html>")
    assert page.count("<tr style=") == len(told.lines)
    roles = {line.role for line in told.lines}
    assert "no place" not in roles
    assert {"row", "header"} <= roles or (name == "transposed" and "row" in roles)
    for line in told.lines:
        letter = LETTERS[line.role][0]
        assert f"{line.number:>6} {letter} | {_printed(line.text)}" in text
    for role in roles:
        assert LETTERS[role][2] in text
        assert LETTERS[role][2] in page
    readings = sum(len(run.readings.signal) for run in told.documents)
    shown = sum(len(re.findall(r"\(column \d+", line.says)) for line in told.lines)
    assert shown == readings > 0, "each reading stands in the picture once"


@pytest.mark.parametrize("name", HOLDS)
def test_the_commands_lead_from_the_file_to_its_table(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`layout propose`, the stored edit, `layout try` on another file: no site, nobody signed in."""
    paths: dict[int, list[str]] = {}
    for seed in (FIRST_SEED, 2):
        (tmp_path / str(seed)).mkdir()
        for source, data in made(name, seed).files.items():
            path = tmp_path / str(seed) / source
            path.write_bytes(data)
            paths.setdefault(seed, []).append(str(path))
    out, page = tmp_path / f"{name}.yaml", tmp_path / f"{name}.html"
    code = main(["layout", "propose", paths[FIRST_SEED][0], "--out", str(out), "--picture", str(page)])
    told = capsys.readouterr()
    assert code == 0, told.err
    assert f"{paths[FIRST_SEED][0]}: " in told.out
    assert page.read_text(encoding="utf-8").count("<tr style=") == len(drafted(name)[1].lines)
    out.write_text(edited(out.read_text(encoding="utf-8"), edits_of(name)), encoding="utf-8")
    code = main(["layout", "try", str(out), *paths[2]])
    told = capsys.readouterr()
    assert code == 0, told.out + told.err
    assert told.out.count("0 without a place; 0 problems") == len(paths[2])
    for run in made(name, 2).runs:
        for tube in run.tubes:
            kind = tube.kind.replace("_", " ")
            assert f" {tube.label}: {kind}" in told.out
            for signal in tube.signals:
                assert f": {signal.removeprefix('-') if not signal.strip('-0.') else signal} (column " in told.out


def test_the_table_of_the_readme_is_what_is_measured() -> None:
    rows = re.findall(r"^\| `(\w+)` \|.*\| (\d) \|", README.read_text(encoding="utf-8"), re.MULTILINE)
    assert {name: int(lines) for name, lines in rows} == NEEDED


def _printed(text: str) -> str:
    return "".join(sign if sign.isprintable() or sign == "\t" else "·" for sign in text)
