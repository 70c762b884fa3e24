"""A report in German: sentence by sentence from the English one, which stays the one of record (``--json``).

What a sentence quotes (names, numbers, texts of the file, messages of libraries) stays as it is. A sentence without a
German one stays in English; a test sees to it that every look's sentences have one.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Final

from benchseal.verify.german_sentences import CHECKS, SENTENCES

if TYPE_CHECKING:
    from benchseal.verify.report import Check, Report, Word

_MEANS: Final[dict[Word, str]] = {
    "GENUINE": "(echt) mit einem Schlüssel gesiegelt, dem Sie vertrauen, seither unverändert, und jedes Ergebnis kommt "
    "aus seinen Messwerten wieder heraus",
    "ALTERED": "(verändert) die Datei widerspricht sich oder ihrem Siegel; nicht verwenden, das Labor um die Datei "
    "bitten, die es ausgestellt hat",
    "UNKNOWN": "(ungewiss) nichts hat sich als falsch erwiesen, aber nicht alles ließ sich prüfen",
}
_NOTICE_GENUINE: Final = (
    "(echt) eine Mitteilung über eine Zurückziehung, gesiegelt mit einem Schlüssel, dem Sie vertrauen, und "
    "unterschrieben im Journal des Labors"
)
ANSWERS: Final = {True: "ja", False: "NEIN", None: "offen"}


def german_lines(report: Report) -> tuple[str, ...]:
    """As ``Report.lines``."""
    about = (
        *german_about(report),
        ("Nachweise", report.evidence_sha256),
        ("zieht die Datei zurück", report.withdraws),
    )
    named = [f"      {name}: {text}" for name, text in about if text]
    checks = [_line(check) for check in report.checks]
    return (report.word, f"      {german_means(report)}", *named, *checks)


def german_means(report: Report) -> str:
    """As ``Report.means``."""
    return _NOTICE_GENUINE if report.withdraws and report.word == "GENUINE" else _MEANS[report.word]


def german_about(report: Report) -> tuple[tuple[str, str], ...]:
    """What the file says of itself: each with its name, empty where it says nothing."""
    return (
        ("Mitteilung" if report.withdraws else "Zertifikat", report.number),
        ("Labor", report.laboratory),
        ("Probe", report.sample),
        ("sagt", in_german(f"{report.conclusion}.").rstrip(".") if report.conclusion else ""),
        ("gesiegelt", " von ".join(part for part in (report.sealed_at, report.sealed_by) if part)),
    )


def _line(check: Check) -> str:
    return f"{ANSWERS[check.holds]:<6}{german_check(check)}"


def german_check(check: Check) -> str:
    """One thing looked at, with what is said of it."""
    said = " ".join(in_german(one) for one in check.sentences or (check.said,))
    return f"{CHECKS.get(check.name, check.name)}: {said}"


def in_german(sentence: str) -> str:
    """The German of one sentence, or the sentence as it is."""
    return _german(sentence) or sentence


def _german(sentence: str) -> str:
    for pattern, german in _patterns():
        found = pattern.fullmatch(sentence)
        if found is None:
            continue
        places = dict(found.groupdict())
        for name in [name for name in places if name.startswith("said")]:
            places[name] = _german(places[name])
        if all(places.values()):
            return german.format_map(places)
    return ""


@cache
def _patterns() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((re.compile(_pattern(english), re.DOTALL), german) for english, german in SENTENCES.items())


def _pattern(english: str) -> str:
    parts = re.split(r"\{([a-z_]+)\}", english)
    return "".join(f"(?P<{part}>.+)" if nth % 2 else re.escape(part) for nth, part in enumerate(parts))
