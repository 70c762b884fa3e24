"""A picture of a file: every line with a letter and a colour for what a layout takes it for; as text, as HTML."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.ingest.accounting import Accounted
    from benchseal.ingest.walk import Role

# The letter carries the meaning; the colour repeats it. Dark text on light grounds: contrast above 7 to 1.
LETTERS: dict[Role, tuple[str, str, str]] = {
    "page heading": ("P", "#e4e4e4", "heading of a page"),
    "head": ("F", "#dcecff", "about the file"),
    "section": ("S", "#d8f0ee", "begins a run"),
    "section line": ("L", "#d8f0ee", "about a run"),
    "header": ("H", "#ece2ff", "headers of the table"),
    "header again": ("h", "#ece2ff", "headers again, on another page"),
    "units": ("U", "#ece2ff", "units of the table"),
    "row": ("R", "#dff3d6", "row of the table"),
    "section end": ("E", "#d8f0ee", "ends a run"),
    "last line": ("Z", "#dcecff", "closes the file"),
    "dropped": ("-", "#eeeeee", "carries nothing"),
    "blank": (" ", "#ffffff", "blank"),
    "no place": ("?", "#ffdcd6", "nothing explains it"),
}


def picture_text(one: Accounted) -> Iterator[str]:
    """One line for each line of the file: number, letter, text; below it what was read; at the end the letters."""
    for line in one.lines:
        yield f"{line.number:>6} {LETTERS[line.role][0]} | {_shown(line.text)}"
        if line.says:
            yield f"{'':>8} > {_shown(line.says)}"
    used = {line.role for line in one.lines}
    yield from (f"{letter:>8} : {words}" for role, (letter, _, words) in LETTERS.items() if role in used)


def picture_html(one: Accounted, title: str) -> str:
    """A page of its own: no script, no other file."""
    used = {line.role for line in one.lines}
    key = "".join(
        f'<li><b style="background:{colour}">{escape(letter)}</b> {escape(words)}</li>'
        for role, (letter, colour, words) in LETTERS.items()
        if role in used
    )
    rows = "\n".join(
        f'<tr style="background:{LETTERS[line.role][1]}"><th scope="row">{line.number}</th>'
        f'<td title="{escape(LETTERS[line.role][2])}">{escape(LETTERS[line.role][0])}</td>'
        f"<td><pre>{escape(_shown(line.text))}</pre></td><td>{escape(_shown(line.says))}</td></tr>"
        for line in one.lines
    )
    problems = "".join(f"<li>{escape(_shown(f'{each.where}: {each.what}'))}</li>" for each in one.problems)
    problems = f"<h2>What would have it refused</h2><ul>{problems}</ul>" if problems else ""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" '
        f'content="width=device-width"><title>{escape(title)}</title><style>{_STYLE}</style></head><body>'
        f"<h1>{escape(title)}</h1><p>What a draft takes each line for. Nobody has approved the draft.</p>"
        f"<ul>{key}</ul><table><thead><tr><th scope='col'>line</th><th scope='col'>is</th>"
        f"<th scope='col'>text</th><th scope='col'>read from it</th></tr></thead><tbody>\n{rows}\n</tbody></table>"
        f"{problems}</body></html>\n"
    )


_STYLE = (
    "body{font:16px/1.4 sans-serif;margin:1rem;color:#111;background:#fff}table{border-collapse:collapse}"
    "td,th{padding:.1rem .5rem;text-align:left;vertical-align:top;border-bottom:1px solid #ccc;font-weight:normal}"
    "pre{margin:0;font:14px/1.4 monospace;white-space:pre-wrap}ul{padding-left:1.2rem}"
    "b{border:1px solid #555;padding:0 .3rem;white-space:pre}"
)


def _shown(text: str) -> str:
    return "".join(sign if sign.isprintable() or sign == "\t" else "·" for sign in text)
