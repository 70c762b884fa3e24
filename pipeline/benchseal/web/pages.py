"""The pages as text: values in, HTML out. No script, no picture, nothing from elsewhere; every value is escaped."""

from __future__ import annotations

import base64
import hashlib
from html import escape
from typing import TYPE_CHECKING, Final

from benchseal.records.shown import one_line
from benchseal.web.form import FIELD

if TYPE_CHECKING:
    from benchseal.verify.judge import Judgement
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
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_ANSWERS: Final = {True: "yes", False: "NO", None: "open"}


def form_page(trust: Trust | None) -> str:
    """The page that takes a file."""
    return _page("Check a certificate", f"<h1>Check a certificate</h1>{_whose(trust)}{_form()}{_LIMITS}")


def judgement_page(one: Judgement, trust: Trust | None) -> str:
    """What is said of a file, in the sentences of the command ``verify``."""
    report = one.report
    about = (
        ("certificate", report.number),
        ("laboratory", report.laboratory),
        ("sample", report.sample),
        ("says", report.conclusion),
        ("sealed", " by ".join(part for part in (report.sealed_at, report.sealed_by) if part)),
        ("SHA-256 of the file", report.sealed_sha256),
    )
    said = one.standing
    stands = f"<p><strong>{_text(said.word.upper())}</strong>: {_text(said.said)}</p>" if said else ""
    facts = "".join(_row(name, text) for name, text in about if text)
    checks = "".join(_row(_ANSWERS[each.holds], f"{each.name}: {each.said}") for each in report.checks)
    body = (
        f'<h1>Check a certificate</h1><p class="word">{one.word}</p><p>{_text(report.means)}</p>{stands}'
        f"<table>{facts}</table><h2>What was checked</h2><table>{checks}</table>{_whose(trust)}{_form()}{_LIMITS}"
    )
    return _page(f"{one.word}: a certificate checked", body)


def refusal_page(what: str) -> str:
    """Why nothing was checked."""
    return _page("Not checked", f"<h1>Not checked</h1><p>{_text(what)}</p>{_form()}")


_LIMITS: Final = (
    '<p class="quiet">The file is held in memory while it is checked, and stored nowhere. The check cannot tell '
    "whether the readings are true, or whether a certificate was replaced or withdrawn since, unless the laboratory's "
    "status file is used too. Whoever must be sure runs the check on a machine of their own.</p>"
)


def _form() -> str:
    return (
        '<form method="post" action="/verify" enctype="multipart/form-data"><label for="file">Drop the PDF file of one '
        f'certificate on this field, or choose it:</label><br><input id="file" type="file" name="{FIELD}" '
        'accept="application/pdf,.pdf" required><br><button>Check it</button></form>'
    )


def _whose(trust: Trust | None) -> str:
    if trust is None:
        return "<p>No trust file is used here, so the best that can be said of a file is UNKNOWN.</p>"
    seals = ", ".join(f"<code>{_text(seal.fingerprint)}</code>" for seal in trust.seals)
    return (
        f"<p>Keys of {_text(trust.laboratory)} are trusted here: {seals}. "
        "Compare them once with the laboratory by telephone or letter.</p>"
    )


def _row(name: str, text: str) -> str:
    return f'<tr><th scope="row">{_text(name)}</th><td>{_text(text)}</td></tr>'


def _text(value: str) -> str:
    return escape(one_line(value))


def _page(title: str, body: str) -> str:
    return (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>{_text(title)}</title>'
        f"<style>{_STYLE}</style></head><body>{body}</body></html>"
    )
