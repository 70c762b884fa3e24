"""The German of what is said about a notice of withdrawal: part of ``SENTENCES``."""

from __future__ import annotations

from typing import Final

NOTICE_CHECKS: Final = {
    "notice": "Mitteilung",
    "proof": "Beleg",
    "proof of this notice": "Beleg zu dieser Mitteilung",
    "signature": "Unterschrift",
    "results taken back": "zurückgezogene Ergebnisse",
    "ledger entry": "Eintrag des Journals",
    "laboratory": "Labor",
}

NOTICE: Final = {
    "canonical, in its form.": "in der Form, die sie haben muss.",
    "it cannot be read ({fault}).": "nicht lesbar ({fault}).",
    "certificate {number} is withdrawn: {reason}.": "Zertifikat {number} ist zurückgezogen: {reason}.",
    "the proof is of notice {digest}…, not of this one.": "der Beleg gehört zu Mitteilung {digest}…, nicht zu dieser.",
    "it is of ledger {found}, not {due}.": "sie gehört zum Journal {found}, nicht zu {due}.",
    "it means {meaning} as {role}; a withdrawal is signed as withdrawn by an approver.": (
        "sie bedeutet {meaning} als {role}; eine Zurückziehung wird als withdrawn von einer Person unterschrieben, die "
        "genehmigt."
    ),
    "it signs {subject}, the notice is about certificate {number}.": (
        "sie steht unter {subject}, die Mitteilung betrifft Zertifikat {number}."
    ),
    "what it signs is another withdrawal: certificate, file, reason or results differ.": (
        "unterschrieben ist eine andere Zurückziehung: Zertifikat, Datei, Grund oder Ergebnisse weichen ab."
    ),
    "number {number} is not that of a notice about {certificate}.": (
        "Nummer {number} ist nicht die einer Mitteilung über {certificate}."
    ),
    "it takes nothing back.": "es wird nichts zurückgezogen.",
    "{named} results are named, {taken} are taken back; they are not the same.": (
        "{named} Ergebnisse sind genannt, {taken} zurückgezogen; es sind nicht dieselben."
    ),
    "the entry cannot be read ({fault}).": "der Eintrag ist nicht lesbar ({fault}).",
    "entry {seq} ({kind}) does not hold this withdrawal with this signature.": (
        "Eintrag {seq} ({kind}) enthält nicht diese Zurückziehung mit dieser Unterschrift."
    ),
    "its proof belongs to this notice.": "der Beleg gehört zu dieser Mitteilung.",
    "an approver signed this withdrawal.": "eine Person, die genehmigt, hat diese Zurückziehung unterschrieben.",
    "each is named, as its signed identifier says, none with a value.": (
        "jedes ist genannt, wie seine unterschriebene Kennung es sagt, keines mit einem Wert."
    ),
    "{line}: its identifier is that of another sample or another result.": (
        "{line}: die Kennung gehört zu einer anderen Probe oder einem anderen Ergebnis."
    ),
    "the one the trust file names.": "es ist das der Vertrauensdatei.",
    "the notice names {found}; the trust file is of {due}.": (
        "die Mitteilung nennt {found}; die Vertrauensdatei ist von {due}."
    ),
    "the page was worded by form {found}, this program words notices by form {known}: only the two numbers were looked "
    "for. It was made by {program}: try that.": (
        "die Seite hat Wortlaut {found}, dieses Programm hat für Mitteilungen Wortlaut {known}: nur die beiden Nummern "
        "wurden gesucht. Gemacht wurde sie von {program}: versuchen Sie es damit."
    ),
    "a page worded by form {found} cannot be compared word by word.": (
        "eine Seite mit Wortlaut {found} lässt sich nicht Wort für Wort vergleichen."
    ),
    "every word of the pages, in order, follows from the notice.": (
        "jedes Wort der Seiten folgt, in dieser Ordnung, aus der Mitteilung."
    ),
    "the ledger holds the withdrawal as it was signed.": "das Journal enthält die Zurückziehung, wie unterschrieben.",
    "a trusted key signed the ledger's head.": "ein vertrauter Schlüssel hat den Stand des Journals unterschrieben.",
    "certificate, lot, reason, results and signature on the page fit.": (
        "Zertifikat, Charge, Grund, Ergebnisse und Unterschrift auf der Seite stimmen."
    ),
}
