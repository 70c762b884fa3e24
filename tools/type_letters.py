"""Write ``type_letters.py``: which characters the shipped type draws as which glyph. Run it after changing the type.

Read by fontTools from cmap, and from the substitutions made unasked (ccmp, locl, liga). Both weights must agree.
"""

from __future__ import annotations

import itertools
import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fontTools.ttLib import TTFont

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

_ROOT = Path(__file__).parents[1]
_FONTS = ("SourceSans3-Regular", "SourceSans3-SemiBold")
_UNASKED = {"ccmp", "locl", "liga", "calt", "clig", "rlig"}
_SINGLE, _LIGATURE = 1, 4
_WIDEST = 112  # of a line of source between its quotes
_MOST = 12  # texts of one glyph that are worth listing
_HEAD = '''"""Characters that the shipped type draws as each glyph, by its number. Made by ``tools/type_letters.py``."""

from __future__ import annotations

from typing import Final

# Where a glyph stands for no character, a line feed.
LETTERS: Final = (
'''
_MORE_HEAD = """# Further texts a glyph is drawn for: a line each, its number and the texts between tabs.
_FURTHER = (
"""
_END = """)
MORE: Final = {int(at): tuple(texts) for at, *texts in (line.split("\\t") for line in _FURTHER.splitlines())}
"""


def letters(font: TTFont) -> dict[int, set[str]]:
    """By number of the glyph every text it is drawn for."""
    number = {name: at for at, name in enumerate(font.getGlyphOrder())}
    found: dict[int, set[str]] = {}
    for code, name in font.getBestCmap().items():
        found.setdefault(number[name], set()).add(chr(code))
    plain = set(found)
    subtables = list(_unasked(font["GSUB"].table))
    for _ in range(3):  # what one substitution makes, another may take
        for table in subtables:
            for made, parts in _made(table):
                if number[made] in plain and len(parts) == 1:  # it is drawn so for characters of its own
                    continue
                texts = [sorted(found.get(number[part], set())) for part in parts]
                several = {"".join(some) for some in itertools.islice(itertools.product(*texts), _MOST)}
                found.setdefault(number[made], set()).update(unicodedata.normalize("NFC", one) for one in several)
    return {at: texts for at, texts in found.items() if texts}


def _unasked(gsub: Any) -> list[Any]:  # noqa: ANN401  fontTools has no types
    """Subtables that replace glyphs, of the features that are on by themselves, and of those they call."""
    features = [one for one in gsub.FeatureList.FeatureRecord if one.FeatureTag in _UNASKED]
    waiting = {lookup for one in features for lookup in one.Feature.LookupListIndex}
    seen: set[int] = set()
    tables = []
    while waiting - seen:
        lookup = min(waiting - seen)
        seen.add(lookup)
        for table in gsub.LookupList.Lookup[lookup].SubTable:
            inner = getattr(table, "ExtSubTable", table)
            tables.append(inner)
            waiting |= {record.LookupListIndex for record in _called(inner)}
    return tables


def _called(table: Any) -> list[Any]:  # noqa: ANN401
    """Substitutions a rule of context calls."""
    direct = list(getattr(table, "SubstLookupRecord", None) or ())
    for kind in ("ChainSubRuleSet", "ChainSubClassSet", "SubRuleSet", "SubClassSet"):
        for rules in getattr(table, kind, None) or ():
            for inner in ("ChainSubRule", "ChainSubClassRule", "SubRule", "SubClassRule"):
                for rule in getattr(rules, inner, None) or ():
                    direct += list(rule.SubstLookupRecord)
    return direct


def _made(table: Any) -> list[tuple[str, list[str]]]:  # noqa: ANN401
    """Glyphs that are put in, with those they stand for."""
    if table.LookupType == _SINGLE:
        return [(made, [one]) for one, made in table.mapping.items()]
    if table.LookupType == _LIGATURE:
        return [(one.LigGlyph, [first, *one.Component]) for first, ones in table.ligatures.items() for one in ones]
    return []


def table() -> str:
    """The text of the module, from the type as it is."""
    fonts = [TTFont(_ROOT / f"report_templates/fonts/{name}.ttf") for name in _FONTS]
    found, other = map(letters, fonts)
    if found != other:
        raise SystemExit("the weights draw different characters under one number")
    first = [min((one for one in found.get(at, ()) if len(one) == 1), default="\n") for at in range(max(found) + 1)]
    lines, line = [], ""
    for letter in first:
        part = letter if letter.isascii() and letter.isprintable() and letter not in '"\\' else _escaped(letter)
        if len(line) + len(part) > _WIDEST:
            lines.append(line)
            line = ""
        line += part
    rows = "".join(f'    "{one}"\n' for one in (*lines, line))
    more = {at: sorted(texts - {first[at]}) for at, texts in sorted(found.items()) if texts - {first[at]}}
    return f"{_HEAD}{rows})\n{_MORE_HEAD}{''.join(_packed(map(_more, more.items())))}{_END}"


def _escaped(text: str) -> str:
    return "".join(f"\\U{ord(one):08x}" if ord(one) > 0xFFFF else f"\\u{ord(one):04x}" for one in text)


def _more(entry: tuple[int, list[str]]) -> str:
    at, texts = entry
    return "\\t".join((str(at), *map(_escaped, texts))) + "\\n"


def _packed(parts: Iterable[str]) -> Iterator[str]:
    """Lines of source as long as they may be, each a text of whole entries."""
    line = ""
    for part in parts:
        if line and len(line) + len(part) > _WIDEST:
            yield f'    "{line}"\n'
            line = ""
        line += part
    yield f'    "{line}"\n'


if __name__ == "__main__":
    (_ROOT / "pipeline/benchseal/certificate/type_letters.py").write_text(table(), encoding="utf-8")
