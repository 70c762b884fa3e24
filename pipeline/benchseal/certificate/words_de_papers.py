"""The German of ``words_en_papers``: the same keys and places."""

from __future__ import annotations

from typing import Final

PAPERS_DE: Final[dict[str, str]] = {
    "notice/title": "Mitteilung über die Zurückziehung",
    "notice/conclusion": "Zertifikat {number} ist zurückgezogen.",
    "notice/released": "Herausgegeben",
    "notice/withdrawn": "Zurückgezogen",
    "notice/why": "Grund:",
    "notice/taken_back": "Zurückgezogene Ergebnisse",
    "notice/stated_as": "Angegeben als",
    "notice/to_do": "Was zu tun ist",
    "notice/do_not_use": (
        "Verwenden Sie die oben genannten Ergebnisse nicht mehr, und geben Sie das Zertifikat nicht weiter."
    ),
    "notice/tell": (
        "Sagen Sie es allen, die das Zertifikat, eine Kopie davon oder seine Ergebnisse von Ihnen erhalten haben."
    ),
    "notice/mark": (
        "Kennzeichnen Sie Ihre Kopien als zurückgezogen oder entfernen Sie sie, wie Ihre eigenen Regeln der "
        "Aufbewahrung es verlangen."
    ),
    "notice/look": (
        "Prüfen Sie nach Ihren eigenen Regeln, was aufgrund dieser Ergebnisse entschieden wurde. Diese Mitteilung "
        "sagt nichts über die Ware."
    ),
    "notice/answer": "Bestätigen Sie dem Labor, dass diese Mitteilung Sie erreicht hat.",
    "notice/more": (
        "Diese Mitteilung enthält keine Ergebnisse. Folgen andere, so stehen sie in einem Zertifikat mit eigener "
        "Nummer."
    ),
    "notice/signed": "Ich ziehe dieses Zertifikat zurück.",
    "notice/sealed": "Zurückgezogene gesiegelte Datei (SHA-256): {digest}",
    "notice/made": "Erstellt mit {program}",
    "notice/verify": (
        "„benchseal verify DATEI.pdf“ mit der Vertrauensdatei des Labors ausführen. Das geht ohne Netz: geprüft "
        "werden das Siegel, die Unterschrift unter der Zurückziehung, dass das Journal des Labors sie enthält, und "
        "diese Seite. Ein Ausdruck lässt sich so nicht prüfen; bitten Sie um die Datei."
    ),
    "notice/end": "Ende der Mitteilung {number}",
    "copy/title": "Papierkopie {copy} von {number}",
    "copy/line": "Papierkopie {copy} von {number}, für {to}. Gedruckt {at} von {by}.",
    "copy/not_sealed": "Nicht gesiegelt: Nur die Datei dieses Zertifikats lässt sich prüfen.",
    "copy_state/withdrawn": "ZURÜCKGEZOGEN",
    "copy_state/superseded": "ERSETZT",
    "copy/replaced": "{standing} durch {by}",
    "sheet/title": "Wie man ein Zertifikat prüft",
    "sheet/title_of": "Wie man ein Zertifikat prüft: {laboratory}",
    "sheet/trust_heading": "1. Die Vertrauensdatei auf anderem Weg als das Zertifikat holen",
    "sheet/trust": (
        "Die Vertrauensdatei, trust.json, enthält die Schlüssel des Labors. Sie kam mit dem Vertrag, als Brief oder "
        "von einer Seite, die Sie kennen; eine, die in derselben Nachricht wie ein Zertifikat kommt, beweist nichts. "
        "Rufen Sie das Labor einmal unter einer Nummer an, die Sie von anderswo haben, und vergleichen Sie den "
        "Fingerabdruck seines Siegelzertifikats (SHA-256):"
    ),
    "sheet/earlier_one": "In der Vertrauensdatei steht 1 früherer.",
    "sheet/earlier_many": "In der Vertrauensdatei stehen {count} frühere.",
    "sheet/no_print": "keiner gilt: fragen Sie das Labor",
    "sheet/compared": "verglichen am",
    "sheet/with": "mit wem",
    "sheet/by": "von",
    "sheet/file_heading": "2. Die Datei prüfen",
    "sheet/file": (
        "Das Zertifikat ist die PDF-Datei, nicht ihr Ausdruck. Mit benchseal auf einem eigenen Rechner, ohne jede "
        "Verbindung:"
    ),
    "sheet/browser": "Oder in einem Browser auf demselben Rechner, wo die Datei auf eine Seite gezogen wird:",
    "sheet/word_heading": "3. Das erste Wort lesen",
    "sheet_word/GENUINE": (
        "Echt: mit einem Schlüssel gesiegelt, dem Sie vertrauen, seither unverändert, und jedes Ergebnis kommt aus "
        "seinen Messwerten wieder heraus. Es sagt, was das Labor herausgegeben hat."
    ),
    "sheet_word/ALTERED": (
        "Verändert: Die Datei widerspricht sich oder ihrem Siegel. Nicht verwenden; das Labor um die Datei bitten, "
        "die es ausgestellt hat."
    ),
    "sheet_word/UNKNOWN": (
        "Ungewiss: Nichts hat sich als falsch erwiesen, aber nicht alles ließ sich prüfen. Was fehlt, sagen die mit "
        "„offen“ bezeichneten Zeilen: eine Vertrauensdatei, ein Schlüssel oder eine andere Ausgabe von benchseal."
    ),
    "sheet/counts_heading": "4. Fragen, ob es noch gilt",
    "sheet/counts": (
        "Ein Zertifikat kann ersetzt oder zurückgezogen werden, nachdem es verschickt wurde. Bitten Sie das Labor "
        "um seine jetzige Statusdatei:"
    ),
    "sheet/answer": (
        "Die Antwort sagt dann, ob es gilt, ersetzt oder zurückgezogen ist: für den Augenblick, in dem die "
        "Statusdatei gemacht wurde."
    ),
    "sheet/limits_heading": "Was sich so nicht sagen lässt",
    "sheet/limits": (
        "Ob die Messwerte wahr sind, und ob es Ihre Probe war. Es zeigt, dass Sie haben, was das Labor "
        "herausgegeben hat, dass seine Ergebnisse aus den Messwerten darin folgen, und wer unterschrieben hat. Der "
        "Haken eines PDF-Programms zeigt weniger: dass die Datei nicht verändert wurde, nicht, dass ihre Ergebnisse "
        "wieder herauskommen."
    ),
}
