"""The pages as text: values in, HTML out. No script, no picture, nothing from elsewhere; every value is escaped."""

from __future__ import annotations

import base64
import hashlib
from html import escape
from typing import TYPE_CHECKING, Final

from benchseal.records.shown import one_line
from benchseal.verify.german import ANSWERS, german_about, german_check, german_means, in_german
from benchseal.web.form import FIELD
from benchseal.web.words import LANGUAGES, TEXTS

if TYPE_CHECKING:
    from benchseal.records.printed_form import Language
    from benchseal.verify.judge import Judgement
    from benchseal.verify.report import Report
    from benchseal.verify.trust import Trust

_STYLE: Final = """
body { font: 16px/1.45 sans-serif; color: #1c1d1f; background: #fff; margin: 2rem auto }
body { max-width: 46rem; padding: 0 1rem }
h1 { font-size: 1.4rem } .word { font-size: 2rem; font-weight: 700; margin: 1.5rem 0 0 }
form { border: 2px dashed #4a4844; padding: 1.5rem; margin: 1.5rem 0 } input, button { font: inherit; max-width: 100% }
button { padding: .4rem 1rem; margin-top: 1rem } table { border-collapse: collapse; width: 100% }
th, td { text-align: left; vertical-align: top; padding: .3rem .6rem .3rem 0; border-bottom: 1px solid #d8d5ce }
td { overflow-wrap: anywhere } .quiet { color: #4a4844 } code { overflow-wrap: anywhere }
"""

_STYLE_HASH: Final = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()
HEADERS: Final = {
    "Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": (
        f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Vary": "Accept-Language",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_ANSWERS: Final = {True: "yes", False: "NO", None: "open"}


def form_page(trust: Trust | None, language: Language = "en") -> str:
    """The page that takes a file."""
    texts = TEXTS[language]
    body = f"<h1>{_text(texts['title'])}</h1>{_whose(trust, language)}{_form(language)}{_limits(language)}"
    return _page(texts["title"], body, language)


def judgement_page(one: Judgement, trust: Trust | None, language: Language = "en") -> str:
    """What is said of a file, in the sentences of the command ``verify``."""
    report, texts, german = one.report, TEXTS[language], language == "de"
    about = (*(german_about(report) if german else _about(report)), (texts["sha256"], report.sealed_sha256))
    said = one.standing
    stands = ""
    if said:
        word, sentence = (in_german(text) if german else text for text in (said.word.upper(), said.said))
        stands = f"<p><strong>{_text(word)}</strong>: {_text(sentence)}</p>"
    facts = "".join(_row(name, text) for name, text in about if text)
    answers = ANSWERS if german else _ANSWERS
    checks = "".join(
        _row(answers[each.holds], german_check(each) if german else f"{each.name}: {each.said}")
        for each in report.checks
    )
    means = german_means(report) if german else report.means
    body = (
        f'<h1>{_text(texts["title"])}</h1><p class="word" lang="en">{one.word}</p><p>{_text(means)}</p>{stands}'
        f"<table>{facts}</table><h2>{_text(texts['what'])}</h2><table>{checks}</table>"
        f"{_whose(trust, language)}{_form(language)}{_limits(language)}"
    )
    return _page(texts["checked"].format(word=one.word), body, language)


def refusal_page(what: str, language: Language = "en") -> str:
    """Why nothing was checked. what: in the language."""
    title = TEXTS[language]["not_checked"]
    return _page(title, f"<h1>{_text(title)}</h1><p>{_text(what)}</p>{_form(language)}", language)


def _about(report: Report) -> tuple[tuple[str, str], ...]:
    return (
        ("notice" if report.withdraws else "certificate", report.number),
        ("laboratory", report.laboratory),
        ("sample", report.sample),
        ("says", report.conclusion),
        ("sealed", " by ".join(part for part in (report.sealed_at, report.sealed_by) if part)),
    )


def _limits(language: Language) -> str:
    return f'<p class="quiet">{_text(TEXTS[language]["limits"])}</p>'


def _form(language: Language) -> str:
    """The field for a file, and the same page in the other languages; the answer comes in the language of the form."""
    texts = TEXTS[language]
    others = " ".join(
        f'<a href="/?language={code}" lang="{code}" hreflang="{code}">{name}</a>'
        for code, name in LANGUAGES.items()
        if code != language
    )
    return (
        f'<form method="post" action="/verify?language={language}" enctype="multipart/form-data">'
        f'<label for="file">{_text(texts["label"])}</label><br><input id="file" type="file" name="{FIELD}" '
        f'accept="application/pdf,.pdf" required><br><button>{_text(texts["button"])}</button></form><p>{others}</p>'
    )


def _whose(trust: Trust | None, language: Language) -> str:
    texts = TEXTS[language]
    if trust is None:
        return f"<p>{_text(texts['no_trust'])}</p>"
    seals = ", ".join(f"<code>{_text(seal.fingerprint)}</code>" for seal in trust.seals)
    whose = _text(texts["trusted"].format(laboratory=trust.laboratory))
    return f"<p>{whose} {seals}. {_text(texts['compare'])}</p>"


def _row(name: str, text: str) -> str:
    return f'<tr><th scope="row">{_text(name)}</th><td>{_text(text)}</td></tr>'


def _text(value: str) -> str:
    return escape(one_line(value))


def _page(title: str, body: str, language: Language) -> str:
    return (
        f'<!DOCTYPE html><html lang="{language}"><head><meta charset="utf-8"><title>{_text(title)}</title>'
        f"<style>{_STYLE}</style></head><body>{body}</body></html>"
    )
