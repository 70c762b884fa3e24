"""The German of what is said about pages as a whole, of keys over time and of time-stamps: part of ``SENTENCES``."""

from __future__ import annotations

from typing import Final

_CERTIFICATE: Final = "certificate {print} of {signer}"
_ZERTIFIKAT: Final = "Zertifikat {print} von {signer}"
_WHEN: Final = "the seal states that it was made at {at}"
_WANN: Final = "das Siegel nennt als seine Zeit {at}"

_OTHERWISE: Final = (
    "another version of the program or its renderer drew it, or it was changed before sealing. It was made by "
    "{program}: try that, as it was then."
)
_ANDERS: Final = (
    "eine andere Fassung des Programms oder seines Zeichners hat sie gezeichnet, oder sie wurde vor dem Siegeln "
    "geändert. Sie wurde von {program} gemacht: nehmen Sie das, wie es damals war."
)

PAGES: Final = {
    "it has the laboratory's own layout, which the file itself holds; a template of a file under check is not run. Its "
    "words were compared with those of the program.": (
        "die Gestaltung ist die eigene des Labors, und sie steht in der Datei selbst; eine Vorlage aus einer geprüften "
        "Datei wird nicht ausgeführt. Die Wörter wurden mit denen des Programms verglichen."
    ),
    "it cannot be drawn here: {why}": "sie lässt sich hier nicht zeichnen: {why}",
    f"drawn again here, page {{numbers}} has other instructions: {_OTHERWISE}": (
        f"hier neu gezeichnet, hat Seite {{numbers}} andere Anweisungen: {_ANDERS}"
    ),
    f"drawn again here, it has {{count}} pages instead of {{pages}}: {_OTHERWISE}": (
        f"hier neu gezeichnet, hat sie {{count}} Seiten statt {{pages}}: {_ANDERS}"
    ),
    "drawn again here, its pages have the same instructions, and what goes with them (type, tags, attachments) has "
    f"other bytes: {_OTHERWISE}": (
        "hier neu gezeichnet, haben ihre Seiten dieselben Anweisungen, und was dazu gehört (Schrift, Auszeichnung, "
        f"Anhänge), hat andere Bytes: {_ANDERS}"
    ),
    "every byte comes out again.": "jedes Byte entsteht wieder.",
    "exactly notice.json and proof.json.": "genau notice.json und proof.json.",
    "nothing on a page is hidden, covered, or acts when it is opened.": (
        "nichts auf einer Seite ist verborgen, verdeckt oder wird beim Öffnen tätig."
    ),
    "every word of the pages, in order, follows from the evidence.": (
        "jedes Wort der Seiten folgt, in dieser Ordnung, aus den Nachweisen."
    ),
    "it does not have the form of {schema} ({why}); it may be of another time{names}. Use a benchseal of its time.": (
        "nicht in der Form {schema} ({why}); vielleicht aus anderer Zeit{names}. Nehmen Sie ein benchseal jener Zeit."
    ),
    f"{_CERTIFICATE} is trusted for what it sealed up to entry {{until}}; {_WHEN}, after entry {{size}}.": (
        f"{_ZERTIFIKAT}: vertraut für das, was es bis Eintrag {{until}} siegelte; {_WANN}, nach Eintrag {{size}}."
    ),
    f"{_CERTIFICATE} is revoked as from {{day}} ({{reason}}); the time-stamp shows that the file was sealed before.": (
        f"{_ZERTIFIKAT} ist ab {{day}} widerrufen ({{reason}}); der Zeitstempel zeigt, dass vorher gesiegelt wurde."
    ),
    f"{_CERTIFICATE} is revoked as from {{day}} ({{reason}}); {_WHEN}; the laboratory confirms this very file.": (
        f"{_ZERTIFIKAT} ist ab {{day}} widerrufen ({{reason}}); {_WANN}; das Labor bestätigt genau diese Datei."
    ),
    f"{_CERTIFICATE} is revoked as from {{day}} ({{reason}}), {_WHEN}, after that day, and the laboratory does not "
    "confirm this file.": (
        f"{_ZERTIFIKAT} ist ab {{day}} widerrufen ({{reason}}), {_WANN}, nach jenem Tag, und das Labor bestätigt "
        "diese Datei nicht."
    ),
    f"{_CERTIFICATE} is revoked as from {{day}} ({{reason}}), {_WHEN}, which whoever has the key could write, and the "
    "laboratory does not confirm this file.": (
        f"{_ZERTIFIKAT} ist ab {{day}} widerrufen ({{reason}}), {_WANN}, was jeder mit dem Schlüssel schreiben könnte, "
        "und das Labor bestätigt diese Datei nicht."
    ),
    "{name} saw the seal at {at} (policy {policy}, number {serial}), and the trust file names nobody who stands behind "
    "that. Ask the laboratory for its present one.": (
        "{name} sah das Siegel am {at} (Regel {policy}, Nummer {serial}), und die Vertrauensdatei nennt niemanden, der "
        "dahinter steht. Bitten Sie das Labor um seine jetzige."
    ),
    "{name} saw the seal at {at} (policy {policy}, number {serial}).": (
        "{name} sah das Siegel am {at} (Regel {policy}, Nummer {serial})."
    ),
    "Attached: {found}; expected {due}.": "Angehängt: {found}; erwartet: {due}.",
    "The seal says that it has a time-stamp, and has none.": "Das Siegel nennt einen Zeitstempel und hat keinen.",
    "The seal says of itself {found}; it is due to say {due}.": (
        "Das Siegel sagt von sich {found}; sagen soll es {due}."
    ),
    "Of the seal: {fault}": "Vom Siegel: {fault}",
    "The seal has a time-stamp it does not speak of.": "Das Siegel hat einen Zeitstempel, von dem es nicht spricht.",
    "The signature is of the form {found}, not {due}.": "Die Signatur hat die Form {found}, nicht {due}.",
    "The time-stamp on the seal is of {at}, before {sealed}, when the seal says that it was made.": (
        "Der Zeitstempel auf dem Siegel ist von {at}, vor {sealed}, der Zeit, die das Siegel nennt."
    ),
    "The time-stamp on the seal is of {at}; the sealing certificate was not valid then.": (
        "Der Zeitstempel auf dem Siegel ist von {at}; das Siegelzertifikat galt damals nicht."
    ),
    "The time-stamp on the seal does not hold: {why}.": "Der Zeitstempel auf dem Siegel hält nicht: {why}.",
    "The sealing certificate was not valid at {at}, when the seal was made: it is valid from {first} to {last}.": (
        "Das Siegelzertifikat galt am {at}, als das Siegel entstand, nicht: Es gilt von {first} bis {last}."
    ),
    "The signature names other certificates than those it carries.": (
        "Die Signatur nennt andere Zertifikate als die, die sie trägt."
    ),
    "Of the pages: {fault}": "Von den Seiten: {fault}",
}
