"""What an export profile writes, an import profile that mirrors it reads again: every text the same."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.export.test_file_kinds import DELIVERY, row

from benchseal.documents.rules_import_profile import import_profile_faults
from benchseal.documents.sheets import read_imported_samples
from benchseal.export.profiles import check_profile
from benchseal.export.render import render
from benchseal.problems import Problem
from benchseal.records.import_profile import ImportColumn, ImportFile, ImportProfile
from benchseal.records.profile import Column, FileForm, Profile
from benchseal.records.registers import SampleRow

# Field of the released row, column of the sample register.
PAIRS = {
    "lot_id": "lot", "product": "product", "client_sample_id": "customer_sample_id", "note": "description",
    "received_at": "received_on", "sampled_at": "sampled_on", "client_order_id": "order", "flags": "quantity_received",
}  # fmt: skip
DAYS = {"received_at", "sampled_at"}
FIXED = {"customer": "ardlea", "specification": "zinc-lozenge", "condition": "closed", "sampled_by": "they"}
KINDS = {
    "delimited": (
        FileForm("windows-1252", ";", "needed", "crlf", ",", header_line=True),
        ImportFile("delimited", "windows-1252", ";", "needed", header_line=True),
    ),
    "utf-16": (
        FileForm("utf-16", "\t", "always", "lf", ".", header_line=False),
        ImportFile("delimited", "utf-16", "\t", "needed", header_line=False),
    ),
    "fixed_width": (
        FileForm("iso-8859-1", line_end="lf", decimal_mark=".", header_line=True, kind="fixed_width"),
        ImportFile("fixed_width", "iso-8859-1", header_line=True),
    ),
    "json_lines": (FileForm(kind="json_lines"), ImportFile("json_lines")),
}
NAME = st.text(st.sampled_from("abcXYZ0159 -_.,;:/'\"|äöüßéµ%()"), min_size=1, max_size=20).map(str.strip).filter(bool)
# Two blanks in a row and an apostrophe before everything are refused when they come in; in the one-byte codes ßµ and
# äµµ are bytes of well-formed UTF-8, and a file with nothing else beyond ASCII would be taken for it.
TEXTS = NAME.filter(
    lambda text: not {"  ", "ßµ", "µµ"} & set(map("".join, pairwise(text))) and text[0] != "'"
) | st.sampled_from(["007", "1E5", "05-03", '"', "a;b", "l'eau", "- 5"])
DAY = st.dates(min_value=__import__("datetime").date(2000, 1, 1), max_value=__import__("datetime").date(2026, 1, 1))


def profiles(kind: str) -> tuple[Profile, ImportProfile]:
    out, into = KINDS[kind]
    width = 60 if kind == "fixed_width" else 0
    own = () if kind == "json_lines" else ("T;{row_count};{sha256_of_rows};{delivery_id}",)
    due = () if kind == "json_lines" else ("T;{row_count};{sha256_of_rows};{any}",)
    form = "" if kind == "json_lines" else "DD.MM.YYYY"
    columns = [
        Column(name.upper(), name, date_form=form if name in DAYS else "", width=width)
        for name in (*PAIRS, "change_kind")
    ]
    taken = [
        ImportColumn(name.upper(), field, form="date" if name in DAYS and form else "text",
                     date_form=form if name in DAYS else "", width=width)
        for name, field in PAIRS.items()
    ]  # fmt: skip
    taken.append(ImportColumn("CHANGE_KIND", ignored=True, width=width))
    taken += [ImportColumn("", field, text) for field, text in FIXED.items()]
    exported = Profile("profile", "orders", "Orders", out, "keep", tuple(columns), closing_lines=own)
    return exported, ImportProfile("import_profile", "orders", "Orders", into, tuple(taken), closing_lines=due)


@pytest.mark.parametrize("kind", list(KINDS))
@settings(suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_a_mirrored_profile_reads_what_was_written(kind: str, data: st.DataObject) -> None:
    out, into = profiles(kind)
    assert check_profile(out) == ()
    assert list(import_profile_faults(into)) == []
    rows = []
    for nth in range(data.draw(st.integers(1, 4))):
        texts: dict[str, Any] = {name: data.draw(TEXTS) for name in PAIRS if name not in DAYS}
        sampled, received = sorted(data.draw(DAY).isoformat() for _ in range(2))
        texts |= {"sampled_at": sampled, "received_at": received, "lot_id": f"L{nth} {texts['lot_id']}"}
        rows.append(row(**texts))
    made = render(rows, out, DELIVERY)
    assert isinstance(made, bytes), made
    read = read_imported_samples(made, "x", into)
    assert not isinstance(read[0], Problem), read
    due = [SampleRow(**({field: getattr(one, name) for name, field in PAIRS.items()} | FIXED)) for one in rows]
    assert list(read[0]) == due
