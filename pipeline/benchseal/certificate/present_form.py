"""What a page takes from the form and the letterhead its evidence names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from benchseal.certificate.language import Words

if TYPE_CHECKING:
    from benchseal.records.evidence import Evidence


def words_of(evidence: Evidence) -> Words:
    """The words and forms of the page this evidence is for."""
    return Words(evidence.form)


def title_of(evidence: Evidence, words: Words) -> str:
    """What the page is headed."""
    return words.say("title/supplement" if evidence.certificate.kind == "supplement" else "title/certificate")


def of_letterhead(evidence: Evidence) -> dict[str, Any]:
    """The words and the logo of the letterhead, where there is one."""
    language = evidence.form.language
    for one in evidence.letterhead:
        said = [words for words in one.words if words.language == language]
        return {
            "accreditation": " ".join(words.accreditation for words in said).strip(),
            "foot": " ".join(words.foot for words in said).strip(),
            "logo": None if one.logo.kind == "none" else one.logo,
        }
    return {}
