"""The words of the verification page in each language. What is found in a file, the room ``verify`` words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from benchseal.records.printed_form import Language

LANGUAGES: Final[dict[Language, str]] = {"en": "English", "de": "Deutsch"}

TEXTS: Final[dict[Language, dict[str, str]]] = {
    "en": {
        "title": "Check a certificate",
        "checked": "{word}: a certificate checked",
        "not_checked": "Not checked",
        "what": "What was checked",
        "label": "Drop the PDF file of one certificate on this field, or choose it:",
        "button": "Check it",
        "no_trust": "No trust file is used here, so the best that can be said of a file is UNKNOWN.",
        "trusted": "Keys of {laboratory} are trusted here:",
        "compare": "Compare them once with the laboratory by telephone or letter.",
        "limits": (
            "The file is held in memory while it is checked, and stored nowhere. The check cannot tell whether the "
            "readings are true, or whether a certificate was replaced or withdrawn since, unless the laboratory's "
            "status file is used too. Whoever must be sure runs the check on a machine of their own."
        ),
        "sha256": "SHA-256 of the file",
    },
    "de": {
        "title": "Ein Zertifikat prüfen",
        "checked": "{word}: ein Zertifikat geprüft",
        "not_checked": "Nicht geprüft",
        "what": "Was geprüft wurde",
        "label": "Die PDF-Datei eines Zertifikats auf dieses Feld ziehen oder auswählen:",
        "button": "Prüfen",
        "no_trust": "Hier wird keine Vertrauensdatei verwendet; mehr als UNKNOWN lässt sich von keiner Datei sagen.",
        "trusted": "Hier wird Schlüsseln von {laboratory} vertraut:",
        "compare": "Vergleichen Sie sie einmal mit dem Labor, telefonisch oder brieflich.",
        "limits": (
            "Die Datei liegt während der Prüfung im Arbeitsspeicher und wird nirgends aufbewahrt. Die Prüfung kann "
            "nicht sagen, ob die Messwerte wahr sind, und ohne die Statusdatei des Labors auch nicht, ob ein "
            "Zertifikat seither ersetzt oder zurückgezogen wurde. Wer sicher sein muss, prüft auf einem eigenen "
            "Rechner."
        ),
        "sha256": "SHA-256 der Datei",
    },
}

_CHOSEN: Final[dict[str, Language]] = {f"language={language}": language for language in LANGUAGES}

# Why a visit gets no check: by its English sentence.
REFUSALS_DE: Final[dict[str, str]] = {
    "This request is not one that is answered here.": "Eine solche Anfrage wird hier nicht beantwortet.",
    "This address is not one of this page.": "Diese Adresse gehört nicht zu dieser Seite.",
    "This request comes from another site.": "Diese Anfrage kommt von einer anderen Website.",
    "There is nothing here. The page that checks certificates is at /.": (
        "Hier ist nichts. Die Seite, die Zertifikate prüft, steht unter /."
    ),
    "This address takes {takes}.": "Diese Adresse nimmt {takes}.",
    "The request does not say how long it is.": "Die Anfrage sagt nicht, wie lang sie ist.",
    "The file is larger than {most} kB, the most that is taken here. Use the command verify.": (
        "Die Datei ist größer als {most} kB; mehr wird hier nicht angenommen. Nehmen Sie den Befehl verify."
    ),
    "The file did not come whole, or not in time.": "Die Datei kam nicht vollständig oder nicht rechtzeitig.",
    "The form did not come as a browser sends a file.": "Das Formular kam nicht, wie ein Browser eine Datei schickt.",
    "The form does not begin as it says it does.": "Das Formular beginnt nicht, wie es sagt.",
    "The form holds another number of files than one, or it was cut off.": (
        "Das Formular enthält nicht genau eine Datei, oder es wurde abgeschnitten."
    ),
    "The file in the form has no description.": "Die Datei im Formular ist nicht bezeichnet.",
    "The form has no field certificate.": "Im Formular fehlt das Feld certificate.",
    "No file was chosen.": "Es wurde keine Datei ausgewählt.",
}


def refusal(what: str, language: Language, **places: str) -> str:
    """Why nothing was checked, its places filled; English where a sentence has no German one."""
    return (REFUSALS_DE.get(what, what) if language == "de" else what).format_map(places)


def chosen(query: str) -> Language | None:
    """The language a query names, ``language=de``; None for a query that names none, or anything else."""
    return _CHOSEN.get(query)


def language_of(query: str, accepted: str) -> Language:
    """The language a visitor asks for: by ``language=de`` in the address, else the first one the browser names.

    accepted: the header Accept-Language (RFC 9110, 12.5.4); one with a quality of 0 is not wanted. English otherwise.
    """
    if (asked := chosen(query)) is not None:
        return asked
    wanted: list[tuple[float, int, Language]] = []
    for nth, part in enumerate(accepted[:1000].split(",")):
        tag, _, more = part.strip().lower().partition(";")
        main = tag.strip().partition("-")[0]
        quality = _quality(more.strip())
        if quality > 0 and main in LANGUAGES:
            wanted.append((-quality, nth, "de" if main == "de" else "en"))
    return min(wanted)[2] if wanted else "en"


def _quality(text: str) -> float:
    """``q=0.8``; 1 where it is not said, 0 where it cannot be read."""
    if not text:
        return 1.0
    name, _, value = text.partition("=")
    value = value.strip()
    plain = name.strip() == "q" and value.isascii() and value.replace(".", "", 1).isdigit()
    return float(value) if plain else 0.0
