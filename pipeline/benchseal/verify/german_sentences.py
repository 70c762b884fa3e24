"""The German of each look and of each sentence the outside check says. Places in braces are put in as they stand.

A place whose name begins with ``said`` is a sentence or a part of one itself and is put into German too; such a line
counts only where that succeeds. Lines are tried in their order: those that could fit anything stand last.
"""

from __future__ import annotations

from typing import Final

from benchseal.verify.german_found import FOUND
from benchseal.verify.german_notice import NOTICE, NOTICE_CHECKS
from benchseal.verify.german_pages import PAGES

CHECKS: Final = {
    "attachments": "Anhänge",
    "calculation rules": "Rechenregeln",
    "checkpoint": "Stand des Journals",
    "documents": "Dokumente",
    "evidence": "Nachweise",
    "ledger entries": "Einträge des Journals",
    "manifests": "unterschriebene Aufstellungen",
    "marked changes": "bezeichnete Änderungen",
    "nothing else printed": "sonst nichts gedruckt",
    "page drawn again": "Seite neu gezeichnet",
    "page form": "Form der Seite",
    "printed language": "Sprache der Seite",
    "printed rows": "gedruckte Zeilen",
    "printed words": "gedruckter Wortlaut",
    "readings": "Messwerte",
    "recalculation": "Nachrechnung",
    "results asked for": "verlangte Ergebnisse",
    "seal": "Siegel",
    "sealing key": "Siegelschlüssel",
    "separate people": "getrennte Personen",
    "signatures": "Unterschriften",
    "supplement": "Ergänzung",
    "time-stamp": "Zeitstempel",
    "supplement of this evidence": "Ergänzung zu diesen Nachweisen",
    **NOTICE_CHECKS,
}

_SEAL: Final = {
    "it covers the whole file and holds.": "es umfasst die ganze Datei und hält.",
    "it covers the whole file, holds, and permits no change.": (
        "es umfasst die ganze Datei, hält und erlaubt keine Änderung."
    ),
    "its pages state that they were made at {drawn}; what they show was signed at {signed}.": (
        "seine Seiten geben an, um {drawn} gemacht zu sein; unterschrieben war, was sie zeigen, um {signed}."
    ),
    "it states that it was made at {sealed}, before what it covers was signed, at {signed}.": (
        "es gibt an, um {sealed} gemacht zu sein, bevor unterschrieben war, was es umfasst, um {signed}."
    ),
    "exactly evidence.json and supplement.json.": "genau evidence.json und supplement.json.",
    "certificate {fingerprint} of {signer} ended at entry {until}; the file was sealed after entry {size}.": (
        "Zertifikat {fingerprint} von {signer} endete mit Eintrag {until}; gesiegelt wurde nach Eintrag {size}."
    ),
    "certificate {fingerprint} of {signer} is trusted.": "Zertifikat {fingerprint} von {signer}: vertraut.",
    "certificate {print} of {signer} is revoked as from {day} ({reason}); the laboratory confirms this very file.": (
        "Zertifikat {print} von {signer} ist ab {day} widerrufen ({reason}); das Labor bestätigt genau diese Datei."
    ),
    "certificate {print} of {signer} is revoked as from {day} ({reason}), and the laboratory does not confirm this "
    "file.": "Zertifikat {print} von {signer} ist ab {day} widerrufen ({reason}), und das Labor bestätigt diese Datei "
    "nicht.",
    "No trust file was given. {said}": "Es wurde keine Vertrauensdatei genannt. {said}",
    "The seal holds, but its certificate {fingerprint} is not one of those trusted here. {said}": (
        "Das Siegel hält, aber seinem Zertifikat {fingerprint} wird hier nicht vertraut. {said}"
    ),
    "The seal holds, but its certificate {fingerprint} is not one of those trusted here.": (
        "Das Siegel hält, aber seinem Zertifikat {fingerprint} wird hier nicht vertraut."
    ),
    "Get the laboratory's trust file by a way you trust and compare this fingerprint with it.": (
        "Beschaffen Sie die Vertrauensdatei des Labors auf einem Weg, dem Sie vertrauen, und vergleichen Sie damit "
        "diesen Fingerabdruck."
    ),
    "Ask the laboratory for the file it issued; do not use this one.": (
        "Bitten Sie das Labor um die Datei, die es ausgestellt hat; verwenden Sie diese nicht."
    ),
    "The file holds {count} signatures; a certificate holds one.": (
        "Die Datei trägt {count} Signaturen; ein Zertifikat trägt eine."
    ),
    "The seal does not state when it was made.": "Das Siegel sagt nicht, wann es entstand.",
    "The file is encrypted; a certificate never is.": "Die Datei ist verschlüsselt; ein Zertifikat ist es nie.",
    "The signature is {name}, not the field {field}.": "Die Signatur ist {name}, nicht das Feld {field}.",
    "The file has {count} revisions instead of two.": "Die Datei hat {count} Fassungen statt zwei.",
    "The seal does not forbid later changes.": "Das Siegel verbietet spätere Änderungen nicht.",
    "The file's catalog is not called one.": "Der Katalog der Datei heißt nicht so.",
    "Another signature than the seal says which changes are permitted.": (
        "Eine andere Signatur als das Siegel sagt, welche Änderungen erlaubt sind."
    ),
    "The sealing certificate was not valid at {at}.": "Das Siegelzertifikat war am {at} nicht gültig.",
    "The seal does not cover the whole file.": "Das Siegel umfasst nicht die ganze Datei.",
    "The seal does not cover the whole file of {size} bytes.": (
        "Das Siegel umfasst nicht die ganze Datei von {size} Bytes."
    ),
    "The seal does not hold: {why}.": "Das Siegel hält nicht: {why}.",
    "Attached: {found}; expected evidence.json and supplement.json.": (
        "Angehängt: {found}; erwartet: evidence.json und supplement.json."
    ),
    "The file cannot be read as a sealed PDF: its inside is not built as that of a PDF is.": (
        "Die Datei lässt sich nicht als gesiegeltes PDF lesen: ihr Inneres ist nicht so gebaut wie das eines PDF."
    ),
    "The file has {size} bytes, more than {most}.": "Die Datei hat {size} Bytes, mehr als {most}.",
    "The file does not begin as a PDF does.": "Die Datei beginnt nicht wie ein PDF.",
    "The file carries {count} seals; a certificate carries exactly one.": (
        "Die Datei trägt {count} Siegel; ein Zertifikat trägt genau eines."
    ),
    "The place of the signature does not hold one signature, then zeros, and nothing else.": (
        "An der Stelle der Signatur steht etwas anderes als eine Signatur und dann Nullen."
    ),
    "The signature is not in the one form that a seal of this kind has.": (
        "Die Signatur hat nicht die eine Form, die ein solches Siegel hat."
    ),
    "The file is not the one that was sealed: its digest differs.": (
        "Dies ist nicht die Datei, die gesiegelt wurde: Ihre Prüfsumme ist eine andere."
    ),
    "The signature says that it covers something else than a document.": (
        "Die Signatur sagt, sie umfasse etwas anderes als ein Dokument."
    ),
    "The signature names another certificate than the one it carries.": (
        "Die Signatur nennt ein anderes Zertifikat als das, das sie trägt."
    ),
    "The signature does not hold under the key of the certificate it carries.": (
        "Die Signatur hält nicht unter dem Schlüssel des Zertifikats, das sie trägt."
    ),
    "The signature cannot be read: it is not built as a signature is.": (
        "Die Signatur lässt sich nicht lesen: sie ist nicht so gebaut wie eine Signatur."
    ),
}

_CONTENTS: Final = {
    "canonical, in the form {schema}.": "kanonisch, in der Form {schema}.",
    "it states schema {stated}; this program reads {schema}. Use a benchseal of its time.": (
        "angegeben ist das Schema {stated}; dieses Programm liest {schema}. Nehmen Sie ein benchseal jener Zeit."
    ),
    "it does not read back to its own bytes.": "beim Zurückschreiben entstehen andere Bytes.",
    "it is not canonical JSON ({why}).": "kein kanonisches JSON ({why}).",
    "it does not have the form of {schema} ({why}).": "nicht in der Form {schema} ({why}).",
    "it could not be looked at: what it rests on is missing, or of another form.": (
        "die Prüfung war nicht möglich: worauf sie sich stützt, fehlt oder hat eine andere Form."
    ),
    "and {count} more.": "und {count} weitere.",
    "its release and proofs belong to this evidence.": "Freigabe und Beweise gehören zu diesen Nachweisen.",
    "the supplement is of evidence {digest}, not of this one.": (
        "die Ergänzung gehört zu den Nachweisen {digest}, nicht zu diesen."
    ),
    "rules {rules}, as here.": "Regeln {rules}, wie hier.",
    "the evidence was calculated by rules {rules} ({program}); this program has rules {here}. Use a benchseal with "
    "rules {again}.": "die Nachweise wurden nach Regeln {rules} ({program}) berechnet; dieses Programm hat Regeln "
    "{here}. Nehmen Sie ein benchseal mit Regeln {again}.",
    "the evidence states rules {rules}, its runs and results {named}.": (
        "die Nachweise nennen Regeln {rules}, ihre Messreihen und Ergebnisse {named}."
    ),
    "{said} and the specification are the versions named.": (
        "{said} und die Spezifikation sind die genannten Fassungen."
    ),
    "1 method": "1 Verfahren",
    "{count} methods": "{count} Verfahren",
    "{shown} of {all} solutions stand in the trees that were signed.": (
        "{shown} von {all} Lösungen stehen in den Bäumen, die unterschrieben wurden."
    ),
    "calibrations, checks and results are those that were signed.": (
        "Kalibrierungen, Kontrollen und Ergebnisse sind die unterschriebenen."
    ),
    "the specification shown is not {id} version {version} by its digest.": (
        "die gezeigte Spezifikation ist nach ihrer Prüfsumme nicht {id} Version {version}."
    ),
    "sample {sample} names specification {id}, shown is {shown}.": (
        "Probe {sample} nennt Spezifikation {id}, gezeigt ist {shown}."
    ),
    "sample {sample} is of customer {customer}, not {other}.": (
        "Probe {sample} ist von Auftraggeber {customer}, nicht {other}."
    ),
    "the standard lots shown are not those of the runs.": (
        "die gezeigten Chargen der Standardlösungen sind nicht die der Messreihen."
    ),
    "the letterhead shown is not the version named, by its digest.": (
        "der gezeigte Briefkopf ist nach seiner Prüfsumme nicht die genannte Fassung."
    ),
    "the template shown is not the version named, by its digest.": (
        "die gezeigte Vorlage ist nach ihrer Prüfsumme nicht die genannte Fassung."
    ),
    "the letterhead is of {one}, the certificate of {other}.": (
        "der Briefkopf ist von {one}, das Zertifikat von {other}."
    ),
    "a run is shown twice.": "eine Messreihe wird zweimal gezeigt.",
    "its facts speak of {run} with {count} solutions, shown are {leaves} leaves.": (
        "ihre Angaben sprechen von {run} mit {count} Lösungen, gezeigt sind {leaves} Blätter."
    ),
    "its facts are not those of its block tree.": "ihre Angaben sind nicht die ihres Baums.",
    "its leaves do not give the root that was signed.": "ihre Blätter ergeben nicht die unterschriebene Wurzel.",
    "no result is of {runs}.": "kein Ergebnis ist aus {runs}.",
    "it is of sample {sample}.": "gehört zu Probe {sample}.",
    "its identifier is not that of this sample, element, quantity and basis.": (
        "die Kennung ist nicht die dieser Probe, dieses Elements, dieser Größe und dieses Bezugs."
    ),
    "no run shown holds it: its digest is in none of the manifests that were signed.": (
        "keine gezeigte Messreihe enthält es: Seine Prüfsumme steht in keiner unterschriebenen Aufstellung."
    ),
    "it names another method or specification than its run and certificate.": (
        "es nennt ein anderes Verfahren oder eine andere Spezifikation als Messreihe und Zertifikat."
    ),
    "it does not rest on the solutions, checks, preparation and standards that are shown.": (
        "es beruht nicht auf den gezeigten Lösungen, Kontrollen, Vorbereitungen und Standardlösungen."
    ),
    "{run}: the method shown is not {id} version {version} by its digest.": (
        "{run}: das gezeigte Verfahren ist nach seiner Prüfsumme nicht {id} Version {version}."
    ),
    "{run}: the method shown is for another element or another kind of signal.": (
        "{run}: das gezeigte Verfahren gilt für ein anderes Element oder eine andere Art von Signal."
    ),
    "portion {portion} is of sample {sample}, which this certificate is not about.": (
        "Teilprobe {portion} ist von Probe {sample}, um die es hier nicht geht."
    ),
    "position {position} is out of order.": "Position {position} steht nicht an ihrer Stelle.",
    "{run}: its manifest is of {other}, version {version}, not {here}.": (
        "{run}: die Aufstellung ist von {other}, Version {version}, nicht {here}."
    ),
    "{run}: its calibration is not the one that was signed.": "{run}: die Kalibrierung ist nicht die unterschriebene.",
    "{run}: its checks are not all of those that were signed, in their order.": (
        "{run}: die Kontrollen sind nicht alle unterschriebenen in ihrer Reihenfolge."
    ),
    "{name} is given twice.": "{name} ist zweimal angegeben.",
    "position {position} is not what was signed: its readings, label or preparation differ.": (
        "Position {position} ist nicht, was unterschrieben wurde: Messwerte, Bezeichnung oder Vorbereitung weichen ab."
    ),
    "position {position} shows a sample without its preparation.": (
        "Position {position} zeigt eine Probe ohne ihre Vorbereitung."
    ),
    "position {position} shows a portion whose preparation is not shown.": (
        "Position {position} zeigt eine Teilprobe, deren Vorbereitung nicht gezeigt ist."
    ),
    "position {position} shows a solution of another sample.": (
        "Position {position} zeigt die Lösung einer anderen Probe."
    ),
}

_PEOPLE: Final = {
    "{count} signatures fit what they sign.": "{count} Unterschriften passen zu dem, was sie unterschreiben.",
    "nobody who worked on it checked it; reviewer and approver are two.": (
        "niemand hat die eigene Arbeit geprüft; geprüft und genehmigt haben zwei Personen."
    ),
    "nobody who worked on it checked it; one person may review and approve, by exception {names}.": (
        "niemand hat die eigene Arbeit geprüft; eine Person darf prüfen und genehmigen, nach Ausnahme {names}."
    ),
    "the supplement's signature means {meaning}, not released.": (
        "die Unterschrift der Ergänzung bedeutet {meaning}, nicht freigegeben."
    ),
    "nobody signed {run}, version {version}, as {meaning}.": (
        "niemand hat {run}, Version {version}, als {meaning} unterschrieben."
    ),
    "nobody signed the content as approved.": "niemand hat den Inhalt als genehmigt unterschrieben.",
    "a packet of runs is shown that nobody signed.": "es wird ein Paket gezeigt, das niemand unterschrieben hat.",
    "it is of ledger {ledger}.": "sie ist aus Journal {ledger}.",
    "it signs nothing that this certificate shows.": "sie unterschreibt nichts, was dieses Zertifikat zeigt.",
    "it signs {subject} ({digest}) as {role}; due is {due} ({other}) as {due_role}.": (
        "sie unterschreibt {subject} ({digest}) als {role}; nötig ist {due} ({other}) als {due_role}."
    ),
    "it signs version {version} of {subject}, of which there is one only.": (
        "sie unterschreibt Version {version} von {subject}, wovon es nur eine gibt."
    ),
    "it is no signature this program makes: {why}.": "so unterschreibt dieses Programm nicht: {why}.",
    "what it states has digest {found}, signed was {signed}": (
        "ihr Wortlaut hat die Prüfsumme {found}, unterschrieben wurde {signed}"
    ),
    "the signature of {person} signs something else.": "die Unterschrift von {person} unterschreibt etwas anderes.",
    "it is of {person}, and {other} signed as {role}, {meaning}.": (
        "sie ist von {person}, und {other} unterschrieb als {role}, {meaning}."
    ),
    "it is on sample {sample}.": "sie gilt Probe {sample}.",
    "it is about results that do not stand in this certificate.": (
        "sie gilt Ergebnissen, die nicht in diesem Zertifikat stehen."
    ),
    "it does not say what it is, or what it is based on.": "sie sagt nicht, was sie ist, oder worauf sie sich stützt.",
    "it is not signed by an approver and an administrator who are two people.": (
        "sie ist nicht von zwei Personen unterschrieben, einer Qualitätssicherung und einer Verwaltung."
    ),
    "{person} both measured and reviewed.": "{person} hat gemessen und geprüft.",
    "{person} both measured and approved or released.": "{person} hat gemessen und genehmigt oder freigegeben.",
    "{person} both prepared portions and reviewed.": "{person} hat Teilproben vorbereitet und geprüft.",
    "{person} both prepared portions and approved or released.": (
        "{person} hat Teilproben vorbereitet und genehmigt oder freigegeben."
    ),
    "{person} both reviewed and approved or released.": "{person} hat geprüft und genehmigt oder freigegeben.",
}

# Those that could fit anything: a part before a sentence of its own.
_NAMED: Final = {
    "signature {digest} of {person} ({meaning}): {said}": "Unterschrift {digest} von {person} ({meaning}): {said}",
    "opinion {opinion}: {said}": "Meinung {opinion}: {said}",
    "exception {exception}: {said}": "Ausnahme {exception}: {said}",
    "{run}: {said}": "{run}: {said}",
}

SENTENCES: Final[dict[str, str]] = {**PAGES, **_SEAL, **_CONTENTS, **_PEOPLE, **FOUND, **_NAMED, **NOTICE}
