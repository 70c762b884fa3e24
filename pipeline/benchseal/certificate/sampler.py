"""Who took the sample, read out of the register's words: the one place both the page and what is due go by.

Sampled by the laboratory, a report names plan, method and date of sampling as its own (ISO/IEC 17025, 7.8.2.1 h and k,
7.8.5); otherwise it says that results apply to the sample as received (7.8.2.2). The register has a text, not a tick:
what it says is compared without case, spaces and marks. In doubt it is the laboratory, so that more is due, never less.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.evidence import Evidence
    from benchseal.records.registers import Customer

Sampler: TypeAlias = Literal["laboratory", "customer", "other", "unrecorded"]

_READ_SINCE: Final = (
    4  # the form of the page from which on words are read; before it, names were compared as they stood
)
_PARTS: Final = re.compile(r"[,;/()\[\]|\n]+")
_SIGNS: Final = re.compile(r"[^\w]+|_+")
_SAME: Final = dict.fromkeys(
    ("lab", "labs", "labor", "laboratories", "laboratorium", "laborpersonal", "labors", "prüflabor"), "laboratory"
)
_LEGAL: Final = frozenset({"ag", "co", "gmbh", "inc", "kg", "limited", "llc", "lp", "ltd", "plc"})
_AROUND: Final = frozenset(
    {
        *("a", "at", "by", "from", "in", "member", "of", "our", "own", "person", "personnel", "sampler", "staff"),
        *("testing", "the", "this"),
        *("das", "dem", "der", "des", "die", "durch", "mitarbeiter", "mitarbeiterin", "personal", "unser", "unserem"),
        *("unseres", "vom", "von"),
    }
)
_OURSELVES: Final = frozenset({"laboratory", "ourselves", "us", "we", "wir"})
_THE_CUSTOMER: Final = frozenset({"client", "customer", "auftraggeber", "auftraggeberin", "kunde", "kundin"})
_NOBODY: Final = frozenset({("n", "a"), ("not", "known"), ("not", "recorded"), ("unbekannt",), ("unknown",)})


def sampler_of(evidence: Evidence) -> Sampler:
    """Who took the sample of a certificate, by the rule of the form it is worded by."""
    facts = evidence.certificate
    if evidence.wording < _READ_SINCE:
        return _as_it_stands(facts.sample.row.sampled_by, facts.laboratory.name, facts.customer)
    return sampler(facts.sample.row.sampled_by, facts.laboratory.name, facts.customer)


def own_date(evidence: Evidence) -> bool:
    """Whether the date of sampling is the laboratory's own statement; forms 1 to 3 called every date the customer's."""
    return evidence.wording >= _READ_SINCE and sampler_of(evidence) == "laboratory"


def says_unrecorded(evidence: Evidence) -> bool:
    """Whether nothing on record is said as that; forms 1 to 3 said that the laboratory had not sampled."""
    return evidence.wording >= _READ_SINCE


def sampler(sampled_by: str, laboratory: str, customer: Customer) -> Sampler:
    """Who ``sampled_by`` means. laboratory: its name as certificates print it."""
    said, own = _words(sampled_by), _words(laboratory)
    if not said or said in _NOBODY:
        return "unrecorded"
    if said == own:
        return "laboratory"
    if said in {_words(customer.customer), _words(customer.name)} or _bare(said) <= _THE_CUSTOMER:
        return "customer"
    if _means_us(sampled_by, own):
        return "laboratory"
    return "other"


def same_name(text: str, name: str) -> bool:
    """Whether two texts are one name, written otherwise."""
    return bool(_words(text)) and _words(text) == _words(name)


def _means_us(text: str, own: Sequence[str]) -> bool:
    """Whether a text names the laboratory anywhere, or one of its parts says no more than ``the laboratory``."""
    if _holds(_words(text), own):
        return True
    return any(part and _bare(part) <= _OURSELVES for part in map(_words, _PARTS.split(text)))


def _words(text: str) -> tuple[str, ...]:
    """The words of a name without case, marks and legal form; every word for a laboratory is one."""
    folded = unicodedata.normalize("NFKC", text).casefold()
    words = tuple(_SAME.get(word, word) for word in _SIGNS.split(folded) if word)
    return tuple(word for word in words if word not in _LEGAL) or words


def _bare(words: Sequence[str]) -> frozenset[str]:
    """The words that say who, without those around them; all of them where there are no others."""
    return frozenset(word for word in words if word not in _AROUND) or frozenset(words)


def _holds(words: Sequence[str], own: Sequence[str]) -> bool:
    """Whether ``own`` stands in ``words``, in its order and without a word between."""
    return bool(own) and any(tuple(words[at : at + len(own)]) == tuple(own) for at in range(len(words) - len(own) + 1))


def _as_it_stands(sampled_by: str, laboratory: str, customer: Customer) -> Sampler:
    """By forms 1 to 3: the texts themselves."""
    if sampled_by == laboratory:
        return "laboratory"
    if not sampled_by:
        return "unrecorded"
    return "customer" if sampled_by in {customer.customer, customer.name, "the customer"} else "other"
