"""The name of a canonical field as a title: it stands over its own field and over no other, however it is written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchseal.export.profiles import FIELDS, check_profile
from benchseal.records.profile import Choose, Column, FileForm, Hl7, Hl7Code, Hl7Panel, Profile

if TYPE_CHECKING:
    from collections.abc import Callable

FILE = FileForm("utf-8", ",", "needed", "crlf", ".", header_line=True)
NAMES = sorted(FIELDS)
ONE = Choose(methods=("lead-furnace",))

WAYS: dict[str, Callable[[str], str]] = {
    "as it is": lambda name: name,
    "capitals": lambda name: name.upper(),
    "blanks": lambda name: f" {name.replace('_', '  ')} ",
    "hyphens": lambda name: name.replace("_", "-").capitalize(),
    "points": lambda name: name.replace("_", "."),
    "capitals within": lambda name: "".join(word.capitalize() for word in name.split("_")),
    "nothing between": lambda name: name.replace("_", ""),
    "wide letters": lambda name: "".join(chr(ord(sign) + 0xFEE0) if sign.isalpha() else sign for sign in name),
    "something in brackets": lambda name: f"{name} (new)",
    "an element before it": lambda name: f"Lead {name}",
}


def refused(*columns: Column, choose: Choose = ONE) -> set[str]:
    """Titles of the columns that ``title-misleads`` names."""
    profile = Profile("profile", "partner", "Partner", FILE, "keep", columns, choose)
    named = [one.where for one in check_profile(profile) if one.code == "profile.title-misleads"]
    return {where.partition(", column ")[2] for where in named}


@pytest.mark.parametrize("way", WAYS)
def test_the_name_of_each_field_over_each_other_is_refused(way: str) -> None:
    """Every pair: in the nth profile each name stands over the nth field after its own."""
    for nth in range(1, len(NAMES)):
        turned = NAMES[nth:] + NAMES[:nth]
        columns = [Column(WAYS[way](name), field) for name, field in zip(NAMES, turned, strict=True)]
        assert {one.title for one in columns} - refused(*columns) == set(), nth


@pytest.mark.parametrize("way", [way for way in WAYS if way not in {"an element before it", "something in brackets"}])
def test_the_name_of_each_field_over_itself_is_sound(way: str) -> None:
    assert refused(*(Column(WAYS[way](name), name) for name in NAMES)) == set()


@pytest.mark.parametrize("title", ["Released by ID", "Technique code", "Verdict code", "Revision no", "Basis-Nr"])
def test_the_name_of_another_field_with_a_word_for_a_number_behind_it_is_refused(title: str) -> None:
    assert refused(Column(title, "method_id")) == {title}


@pytest.mark.parametrize("title", ["released_by", "Signature state", "expanded_uncertainty", "sampledAt"])
def test_the_name_of_another_field_over_a_flag_is_refused(title: str) -> None:
    assert refused(Column(title, "verdict", form="flag", holds=("pass",), yes="1", no="0")) == {title}


@pytest.mark.parametrize("name", ["As expressed_as", "As value_text", "valueTextAs"])
def test_the_name_of_another_field_beside_its_element_is_refused(name: str) -> None:
    assert refused(Column(name, "value_number", of="As")) == {name}


@pytest.mark.parametrize("title", ["cas_number", "Unit UCUM", "note", "fraction", "profile_version", "CertificateNo"])
def test_a_fixed_text_under_the_name_of_a_field_is_refused(title: str) -> None:
    columns = (Column("V", "value_text"), Column(title, fixed="K-77"))
    profile = Profile("profile", "partner", "Partner", FILE, "keep", columns)
    assert "profile.fixed-misleads" in {one.code for one in check_profile(profile)}


def test_a_code_of_messages_named_like_another_field_is_refused() -> None:
    for name in ("spec_high", "Decision rule", "note"):
        code = Hl7Code("PB-C", name, "L", "Pb", "content", "ug/g")
        hl7 = Hl7("BENCH", "LAB", "WARD", "CLINIC", "T", Hl7Panel("METALS", "Metals", "L"), (code,))
        wanted = Profile("profile", "partner", "Partner", FileForm(kind="hl7_v2"), "keep", hl7=hl7)
        assert [one.code for one in check_profile(wanted)] == ["profile.title-misleads"]
