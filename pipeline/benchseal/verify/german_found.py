"""The German of what looks at ledger, results, page and status file say: part of ``german_sentences``."""

from __future__ import annotations

from typing import Final

_HELD: Final = {
    "{count} entries hold all signatures, in order.": "{count} Einträge enthalten alle Unterschriften, in Reihenfolge.",
    "a trusted key signed the head at {at}.": "ein vertrauter Schlüssel unterschrieb den Stand von {at}.",
    "the checkpoint is of ledger {one}, the evidence of {other}.": (
        "der Stand ist von Journal {one}, die Nachweise von {other}."
    ),
    "the trust file is of ledger {one} ({laboratory}), not {other}.": (
        "die Vertrauensdatei ist von Journal {one} ({laboratory}), nicht {other}."
    ),
    "the checkpoint names key {key}, which the trust file does not hold. Keys are renewed: ask the laboratory for its "
    "present trust file.": "der Stand nennt Schlüssel {key}, den die Vertrauensdatei nicht enthält. Schlüssel werden "
    "erneuert: Bitten Sie das Labor um seine jetzige Vertrauensdatei.",
    "key {key} of the checkpoint is revoked as from {day} ({reason}), and the laboratory does not confirm this head.": (
        "Schlüssel {key} des Stands ist ab {day} widerrufen ({reason}), und das Labor bestätigt diesen Stand nicht."
    ),
    "the entries are not each shown once, in order of the ledger.": (
        "die Einträge sind nicht je einmal gezeigt, in der Reihenfolge des Journals."
    ),
    "an entry cannot be read.": "ein Eintrag lässt sich nicht lesen.",
    "entry {seq} ({kind}) is not in the tree of the checkpoint.": (
        "Eintrag {seq} ({kind}) steht nicht im Baum des Stands."
    ),
    "no entry shown holds the signature {digest} of {person}.": (
        "kein gezeigter Eintrag enthält die Unterschrift {digest} von {person}."
    ),
    "entry {seq} holds no signature of this certificate.": (
        "Eintrag {seq} enthält keine Unterschrift dieses Zertifikats."
    ),
    "{run} was reviewed before it was signed as measured.": (
        "{run} wurde geprüft, bevor sie als gemessen unterschrieben war."
    ),
    "the content was approved before its runs were reviewed.": (
        "der Inhalt wurde genehmigt, bevor seine Messreihen geprüft waren."
    ),
    "the certificate was released before it was approved.": "das Zertifikat wurde freigegeben, bevor es genehmigt war.",
}

_RESULTS: Final = {
    "{said} come out again from the readings.": "{said} kommen aus den Messwerten wieder heraus.",
    "{said} stand on the page as calculated.": "{said} stehen auf der Seite, wie berechnet.",
    "{said} and 1 sum": "{said} und 1 Summe",
    "{said} and {count} sums": "{said} und {count} Summen",
    "1 result": "1 Ergebnis",
    "{count} results": "{count} Ergebnisse",
    "every line of the specification has its result; the conclusion fits.": (
        "jede Zeile der Spezifikation hat ihr Ergebnis; die Gesamtaussage passt."
    ),
    "the specification's lines and the results differ; without a result: {lacking}.": (
        "Zeilen der Spezifikation und Ergebnisse weichen ab; ohne Ergebnis: {lacking}."
    ),
    "the specification's sums and those given differ; without a sum: {lacking}.": (
        "Summen der Spezifikation und angegebene weichen ab; ohne Summe: {lacking}."
    ),
    "it concludes {stated}; its results say {due}.": "es schließt {stated}; seine Ergebnisse sagen {due}.",
    "it says measured {first} to {last}, its runs {one} to {other}.": (
        "es nennt als Messzeit {first} bis {last}, seine Messreihen {one} bis {other}."
    ),
    "complies with the specification.": "entspricht der Spezifikation.",
    "does not comply with the specification.": "entspricht nicht der Spezifikation.",
    "is not said to comply in every result.": "entspricht nicht nach jedem Ergebnis mit Sicherheit.",
    "no limits are specified, no statement of conformity is made.": (
        "keine Grenzwerte festgelegt, keine Konformitätsaussage."
    ),
    "not calculated again: rules {rules}, here {here}.": "nicht nachgerechnet: Regeln {rules}, hier {here}.",
    "{run}: calibration not recomputable, the instrument gave concentrations.": (
        "{run}: Kalibrierung nicht nachrechenbar, das Gerät gab Konzentrationen."
    ),
    "{run} cannot be calculated: {why}": "{run} lässt sich nicht berechnen: {why}",
    "the calibration comes out otherwise ({fields}).": "die Kalibrierung kommt anders heraus ({fields}).",
    "check {rule} at {places} comes out as {verdict}.": "Kontrolle {rule} an {places} kommt als {verdict} heraus.",
    "check {rule} at {places} is stated as {verdict}.": "Kontrolle {rule} an {places} ist als {verdict} angegeben.",
    "sum {name}: the specification asks for no such sum.": "Summe {name}: Die Spezifikation verlangt sie nicht.",
    "sum {name}: stated is {stated}, its parts give {due}.": (
        "Summe {name}: Angegeben ist {stated}, ihre Teile ergeben {due}."
    ),
    "{name}: the readings give no such result.": "{name}: Die Messwerte ergeben kein solches Ergebnis.",
    "{name}: stated is {stated}, the readings give {due}.": (
        "{name}: Angegeben ist {stated}, die Messwerte ergeben {due}."
    ),
    "{name} comes out otherwise ({fields}).": "{name} kommt anders heraus ({fields}).",
}

_PAGE: Final = {
    "English, decimals after a {said}, as the evidence says.": (
        "Englisch, Dezimalzeichen {said}, wie die Nachweise sagen."
    ),
    "German, decimals after a {said}, as the evidence says.": (
        "Deutsch, Dezimalzeichen {said}, wie die Nachweise sagen."
    ),
    "full stop": "Punkt",
    "comma": "Komma",
    "English": "Englisch",
    "German": "Deutsch",
    "the evidence names {sign} for both decimals and groups of figures.": (
        "die Nachweise nennen {sign} als Dezimalzeichen und zugleich als Gliederungszeichen."
    ),
    "the page has no title in {said}, the language the evidence names.": (
        "die Seite hat keinen Titel auf {said}, der Sprache der Nachweise."
    ),
    "the page has a title in {said}; the evidence names {said_other}.": (
        "die Seite hat einen Titel auf {said}; die Nachweise nennen {said_other}."
    ),
    "names, numbers, conclusion and signatures on the page fit.": (
        "Namen, Nummern, Gesamtaussage und Unterschriften auf der Seite passen."
    ),
    "the page was worded by form {form}, this program words by form {here}: the rows of the results, names, numbers "
    "and the conclusion were compared, other sentences rest on the seal.": "die Seite hat den Wortlaut der Form {form}"
    ", dieses Programm der Form {here}: Ergebniszeilen, Namen, Nummern und Gesamtaussage wurden verglichen, die "
    "übrigen Sätze beruhen auf dem Siegel.",
    "the page states form {form} of its words; this program words by form {here} and does not know that one: the "
    "rows of the results were compared, and nothing else. Use a benchseal that knows it.": "die Seite nennt Form "
    "{form} ihres Wortlauts; dieses Programm hat Form {here} und kennt jene nicht: Die Ergebniszeilen wurden "
    "verglichen, sonst nichts. Nehmen Sie ein benchseal, das sie kennt.",
    "the rows that the evidence says are printed are not those that follow from its results.": (
        "die Zeilen, die nach den Nachweisen gedruckt sind, folgen nicht aus deren Ergebnissen."
    ),
    "the rows of the results stand in another order.": "die Ergebniszeilen stehen in anderer Reihenfolge.",
    "the evidence does not say one printed row for each result.": (
        "die Nachweise nennen nicht für jedes Ergebnis eine gedruckte Zeile."
    ),
    "{line}: the row {row} stands on the page, but with another sign in a number.": (
        "{line}: Die Zeile {row} steht auf der Seite, aber mit einem anderen Zeichen in einer Zahl."
    ),
    "{line}: the row {row} does not stand on the page.": "{line}: Die Zeile {row} steht nicht auf der Seite.",
    "{line}: the printed row {row} does not hold {text}.": "{line}: Die gedruckte Zeile {row} enthält {text} nicht.",
    "{line}: the printed row belongs to another result.": (
        "{line}: Die gedruckte Zeile gehört zu einem anderen Ergebnis."
    ),
    "the page does not say {name}.": "auf der Seite steht nicht: {name}.",
    "{count} texts differ from {number}, as marked; what stood there is not checked here.": (
        "{count} Angaben weichen von {number} ab, wie bezeichnet; was dort stand, wird hier nicht geprüft."
    ),
    "none: it is an original.": "keine: Es ist ein erstes Zertifikat.",
    "none: it is a supplement.": "keine: Es ist ein Nachtrag.",
    "{place} is marked twice.": "{place} ist zweimal bezeichnet.",
    "{place} is marked as changed and is not.": "{place} ist als geändert bezeichnet und ist es nicht.",
    "{place} is marked as {after}; the page says {now}.": "{place} ist als {after} bezeichnet; die Seite sagt {now}.",
    "{count} changes are marked; it is an {kind}.": "{count} Änderungen sind bezeichnet; Art des Zertifikats: {kind}.",
    "it names a replaced file; it is an {kind}.": "es nennt eine ersetzte Datei; Art des Zertifikats: {kind}.",
    "it names no replaced file; it is an {kind}.": "es nennt keine ersetzte Datei; Art des Zertifikats: {kind}.",
}

_STATUS: Final = {
    "at {at}, as the laboratory's status file says.": "am {at}, wie die Statusdatei des Labors sagt.",
    "since {since}, as the laboratory's status file of {at} says.": (
        "seit {since}, wie die Statusdatei des Labors vom {at} sagt."
    ),
    "since {since}, replaced by the file with SHA-256 {other}, as the laboratory's status file of {at} says.": (
        "seit {since}, ersetzt durch die Datei mit SHA-256 {other}, wie die Statusdatei des Labors vom {at} sagt."
    ),
    "the status file of {at} lists {count} certificates; this file is none of them.": (
        "die Statusdatei vom {at} führt {count} Zertifikate auf; diese Datei ist keines davon."
    ),
    "the status file of {at} lists {count} certificates of {customer}; this file is none of them.": (
        "die Statusdatei vom {at} führt {count} Zertifikate von {customer} auf; diese Datei ist keines davon."
    ),
    "nowhere": "nirgends",
    "IN FORCE": "IN KRAFT",
    "SUPERSEDED": "ERSETZT",
    "WITHDRAWN": "ZURÜCKGEZOGEN",
    "NOT NAMED": "NICHT GENANNT",
}

FOUND: Final[dict[str, str]] = {**_HELD, **_RESULTS, **_PAGE, **_STATUS}
