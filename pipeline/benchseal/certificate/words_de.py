"""The German of a certificate: the keys and places of ``words_en``.

Terms as German-speaking laboratories use them, from memory: Entscheidungsregel, Konformitätsaussage, erweiterte
Messunsicherheit (German edition of ISO/IEC 17025), Nachweisgrenze, Bestimmungsgrenze (DIN 32645), Wiederfindung,
Blindwert, Trockensubstanz. Whoever sends German certificates has somebody whose language it is read one first.
"""

from __future__ import annotations

from typing import Final

from benchseal.certificate.words_de_codes import CODES_DE
from benchseal.certificate.words_de_papers import PAPERS_DE

_LABELS: Final = {
    "label/accreditation": "Akkreditierung",
    "label/address": "Anschrift",
    "label/background": "Untergrund",
    "label/calibration": "Kalibrierung",
    "label/comments": "Bemerkungen und Hinweise",
    "label/conclusion": "Gesamtaussage",
    "label/condition": "Zustand",
    "label/customer": "Auftraggeber",
    "label/customer_sample": "Ihre Probe",
    "label/decision_rule": "Entscheidungsregel",
    "label/deviations": "Abweichungen von den Verfahren",
    "label/expiry": "Verfalldatum",
    "label/external": "Ergebnisse externer Anbieter",
    "label/first_certificate": "Erstes Zertifikat",
    "label/foot": "Fußzeile",
    "label/grade": "Qualität",
    "label/issued": "Ausgestellt",
    "label/item": "Prüfgegenstand",
    "label/laboratory": "Labor",
    "label/lot": "Charge",
    "label/manufacturer": "Hersteller",
    "label/measured": "Gemessen",
    "label/opinion": "Meinung",
    "label/opinions": "Meinungen",
    "label/product": "Produkt",
    "label/quantity_received": "Erhaltene Menge",
    "label/received": "Eingegangen",
    "label/retest": "Nachprüfdatum",
    "label/sample_number": "Probennummer",
    "label/sampled": "Entnommen",
    "label/sampling": "Probenahme",
    "label/specification": "Spezifikation",
    "label/stated": "Angaben des Auftraggebers",
    "label/uncertainty": "Messunsicherheit",
    "column/check": "Prüfung",
    "column/determined": "Bestimmt",
    "column/found": "Gefunden",
    "column/limit": "Grenzwert",
    "column/limits": "Grenzen",
    "column/method": "Verfahren",
    "column/result": "Ergebnis ± erweiterte Unsicherheit",
    "column/rule": "Regel und Bewertung",
    "column/text": "Angabe",
    "column/there": "Dort",
    "column/verdict": "Bewertung",
    "column/here": "Hier",
    "heading/changes": "Änderungen gegenüber Zertifikat {number}",
    "heading/check": "Wie sich diese Datei prüfen lässt",
    "heading/held": "Wo dies aufbewahrt wird",
    "heading/known": "Wie gemessen wurde",
    "heading/limits": "Grenzen und Hinweise",
    "lead/known": (
        "Kreise: Kalibrierlösungen. Linie und helles Band: angepasste Kurve ± 2 Standardunsicherheiten; darunter die "
        "Residuen. Dann die Kontrollen der Messreihe: Befund, Grenzen, Urteil."
    ),
    "mark/DRAFT": "ENTWURF",
    "mark/PRELIMINARY": "VORABWERTE",
    "mark/notice": "{mark}: nicht gesiegelt, kein Zertifikat. Werte können sich ändern.",
    "page/digest": "Prüfsumme der Nachweise (SHA-256)",
    "page/end": "Ende des Zertifikats {number}",
    "page/end_unsealed": "Ende: {mark} {number}",
    "page/ledger": "Journal {ledger}, Stand: {size} Einträge, Wurzel {root}",
    "page/made": "Erstellt mit {program}, Rechenregeln {rules}",
    "page/measured_at": "Gemessen bei: {place}",
    "page/of": "von",
    "page/page": "Seite",
    "page/rosette": "Aus der Prüfsumme der Nachweise gezeichnet: eine Hilfe für das Auge, kein Beweis",
    "page/rosette_sentence": "Figur aus geschlossenen Kurven, gezeichnet aus der Prüfsumme der Nachweise {start}.",
    "page/signature": "Unterschrift {start}",
    "page/subject": "{product}, Charge {lot}",
    "page/verify": (
        "„benchseal verify DATEI.pdf“ mit der Vertrauensdatei des Labors ausführen. Das geht ohne Netz und ohne uns: "
        "Es prüft das Siegel, liest die Messwerte, die dieser Datei beiliegen, berechnet die Ergebnisse neu und "
        "vergleicht sie mit dieser Seite. Das Siegel bricht, wenn sich ein einziges Byte ändert. Ein Ausdruck lässt "
        "sich so nicht prüfen; bitte die Datei verlangen."
    ),
    "title/certificate": "Analysenzertifikat",
    "title/supplement": "Nachtrag zu einem Analysenzertifikat",
}

_SENTENCES: Final = {
    "caution/items": "Die Ergebnisse beziehen sich nur auf die geprüften Gegenstände.",
    "caution/part": (
        "Dieses Zertifikat darf ohne schriftliche Genehmigung des Labors nicht auszugsweise vervielfältigt werden."
    ),
    "caution/release": (
        "Dieses Zertifikat berichtet Ergebnisse. Es gibt keine Ware zur Verwendung oder zum Verkauf frei."
    ),
    "changed/against": "Geändert gegenüber {number}.",
    "changed/limit": "Grenzwert {limit}",
    "changed/new": "Nicht in {number}.",
    "conclusion/all_both": "beide Ergebnisse entsprechen der Spezifikation",
    "conclusion/all_both_limited": "beide Ergebnisse mit Grenzwert entsprechen der Spezifikation",
    "conclusion/all_many": "alle {count} Ergebnisse entsprechen der Spezifikation",
    "conclusion/all_many_limited": "alle {count} Ergebnisse mit Grenzwert entsprechen der Spezifikation",
    "conclusion/all_one": "das Ergebnis entspricht der Spezifikation",
    "conclusion/all_one_limited": "das Ergebnis mit Grenzwert entspricht der Spezifikation",
    "conclusion/complies_many": "{names} entsprechen der Spezifikation",
    "conclusion/complies_one": "{names} entspricht der Spezifikation",
    "conclusion/complies_counted": "{count} Ergebnisse entsprechen der Spezifikation",
    "conclusion/conditional_counted": "{count} Ergebnisse entsprechen der Spezifikation bedingt",
    "conclusion/conditional_many": "{names} entsprechen der Spezifikation bedingt",
    "conclusion/conditional_one": "{names} entspricht der Spezifikation bedingt",
    "conclusion/fails_counted": "{count} Ergebnisse entsprechen nicht der Spezifikation",
    "conclusion/fails_many": "{names} entsprechen nicht der Spezifikation",
    "conclusion/fails_one": "{names} entspricht nicht der Spezifikation",
    "conclusion/informative": "für {names} ist kein Grenzwert festgelegt",
    "conclusion/in_table": "welche es sind, sagt die Tabelle in jeder Zeile",
    "conclusion/informative_counted": "für {count} Ergebnisse ist kein Grenzwert festgelegt",
    "conclusion/no_limits": "Es sind keine Grenzwerte festgelegt; eine Konformitätsaussage wird nicht getroffen.",
    "conclusion/unsaid": "für {names} wird keine Konformitätsaussage getroffen",
    "conclusion/unsaid_counted": "für {count} Ergebnisse wird keine Konformitätsaussage getroffen",
    "curve/elsewhere": "Konzentrationen, wie das Gerät sie berechnet hat; Kalibrierung nicht nachrechenbar",
    "curve/fit": "{model}, {weighting} · n = {n}",
    "curve/note": (
        "{name}, Messreihe {run}: abgelesen an der Kurve der Messreihe {use} vom {day}; die Signale abzüglich "
        "Blindwert wurden mit {factor} multipliziert, bestimmt aus einer Kalibrierlösung, die in Messreihe {run} "
        "gemessen wurde."
    ),
    "curve/of_run": "Kurve der Messreihe {run}",
    "curve/sd": "Reststandardabweichung {sd}",
    "curve/weighted_sd": "gewichtete Reststandardabweichung {sd}",
    "date/days": "{first} bis {last}",
    "decision/line": "{names}: {rule}.",
    "decision/line_counted": "{count} Ergebnisse, in der Tabelle mit „{mark}“: {rule}.",
    "decision/none": "keine: Die Spezifikation legt keinen Grenzwert fest.",
    "decision/singles": (
        "Jede Teilprobe von {names} wird auf dieselbe Weise, ohne Unsicherheit, mit einem eigenen Grenzwert "
        "verglichen; liegt eine außerhalb, so entspricht das Ergebnis nicht."
    ),
    "decision/singles_counted": (
        "Bei den {count} Ergebnissen, in deren Zeilen ein Grenzwert für einzelne Teilproben steht, wird jede Teilprobe "
        "auf dieselbe Weise, ohne Unsicherheit, damit verglichen; liegt eine außerhalb, so entspricht das Ergebnis "
        "nicht."
    ),
    "detail/additions": "nach dem Standardadditionsverfahren",
    "detail/below_detection": "auch unter der Nachweisgrenze {limit}",
    "detail/between": "zwischen zwei Kalibrierlösungen abgelesen",
    "detail/bound": "{bound}: {sentence}",
    "detail/bound_here": "hier {names}",
    "detail/bound_nothing": "hier keine",
    "detail/detected": "nachgewiesen, über der Nachweisgrenze {limit}",
    "detail/drift": "driftkorrigiert",
    "detail/exposure": "Grenzwert aus: zulässige tägliche Exposition (PDE) {exposure}; Tagesdosis {dose} g",
    "detail/lost": "Teilprobe {portion}: {why}",
    "detail/moisture": "herausgerechnete Feuchte: {moistures} %",
    "detail/none_quantified": "kein Summand erreichte seine Bestimmungsgrenze",
    "detail/of_portions": "{said}, Teilprobe {portions}",
    "detail/portions": "Teilproben {values} {unit}",
    "detail/single_inside": "alle innerhalb",
    "detail/single_open": "{portion} nicht bewertet",
    "detail/single_outside": "{portion} ({value}) außerhalb",
    "detail/singles": "Grenzwert je Teilprobe {limit}: {found}",
    "exception/note": (
        "Nach Ausnahme {exception}, unterschrieben von {names} und gültig bis {day}, darf hier eine Person prüfen und"
        " genehmigen. Stattdessen: {check}"
    ),
    "item/stated_claim": "deklarierter Gehalt je {unit}",
    "item/stated_designation": "Bezeichnung der Probe",
    "item/stated_expiry": "Verfalldatum",
    "item/stated_first": "erstes Zertifikat",
    "item/stated_grade": "Qualität",
    "item/stated_manufacturer": "Hersteller",
    "item/stated_retest": "Nachprüfdatum",
    "item/stated_lot": "Charge",
    "item/stated_product": "Produkt",
    "item/stated_sampling": "Datum der Probenahme",
    "limit/between": "{lower} bis {upper}",
    "limit/lower": "mindestens {lower}",
    "limit/none": "kein Grenzwert",
    "limit/of_claim": "% der Deklaration",
    "limit/upper": "höchstens {upper}",
    "list/and": " und ",
    "list/comma": ", ",
    "name/as": "als {substance}",
    "name/as_received": "{name} in der Originalsubstanz",
    "name/sum": "die Summe von {elements}",
    "none": "keine",
    "note/bracket": (
        "Wo eine Kontrolle, die Messwerte einschließt, nicht erfüllt war, wurde keiner der eingeschlossenen Messwerte"
        " verwendet."
    ),
    "note/comment": "Bemerkung: {comment}",
    "note/elsewhere": "* an einer anderen Probe derselben Aufschlussserie; aus dieser Datei nicht nachrechenbar.",
    "note/rinse": "Wo eine Spülung nicht auf null zurückging, wurde der unmittelbar folgende Messwert nicht verwendet.",
    "opinion/said": "{text} Gestützt auf: {basis} Geäußert von {name}, {role}, am {day}.",
    "quantity/as": "{quantity}, als {substance}",
    "quantity/mass_fraction": "{fraction}, Massenanteil, {basis}",
    "quantity/of_claim": "Anteil der Deklaration, {claim} mg",
    "quantity/on_basis": "{fraction}, {basis}",
    "quantity/per_area": "abgegeben je Fläche",
    "quantity/per_unit": "{fraction}, je {unit}",
    "relation/amends": "Berichtigt und ersetzt Zertifikat {number}: {reason}",
    "relation/part": "Berichtet einen Teil der Spezifikation; den übrigen Teil berichten: {others}.",
    "relation/supplements": "Ergänzt Zertifikat {number}: {reason}",
    "run/all": "alle {count} Messreihen",
    "run/heading": "{element}, {nm} nm",
    "run/one": "Messreihe {run}",
    "run/panel": "Messreihe {run}, {technique}, {day}",
    "run/several": "Messreihen {runs}",
    "table/checks": "Prüfungen zu {heading}, {run}",
    "table/checks_below": "Die {count} Prüfungen dazu stehen weiter unten in einer Tabelle.",
    "table/checks_part": "Prüfungen zu {heading}, {run}: Prüfungen {first} bis {last} von {count}",
    "table/results_part": "Ergebnisse {first} bis {last} von {count}",
    "note/simplified": (
        "Vereinfachte Form, wie mit dem Auftraggeber vereinbart ({agreement}): Kalibrierungen, Prüfungen und "
        "Messbedingungen sind nicht abgedruckt. Sie sind der gesiegelten Datei beigefügt, und das Labor hält sie "
        "bereit."
    ),
    "sampling/by": "Entnommen durch {who}; die Ergebnisse gelten für die Probe, wie sie eingegangen ist.",
    "sampling/customer": "den Auftraggeber",
    "sampling/laboratory": "Entnommen durch das Labor.",
    "sampling/plan": "Entnommen durch das Labor: {plan}.",
    "sampling/unknown": (
        "Wer die Probe genommen hat, ist nicht festgehalten; die Ergebnisse gelten für die Probe, wie sie eingegangen "
        "ist."
    ),
    "sampling/unknown_before_4": (
        "Das Labor hat die Probe nicht genommen; die Ergebnisse gelten für die Probe, wie sie eingegangen ist."
    ),
    "signed/approved": "Ich genehmige diese Ergebnisse für dieses Zertifikat.",
    "signed/calculated": "Ich habe {runs} berechnet und eingereicht, wie aufgezeichnet.",
    "signed/measured": "Ich habe {runs} gemessen, wie aufgezeichnet.",
    "signed/prepared": "Ich habe Teilproben für {runs} vorbereitet, wie aufgezeichnet.",
    "signed/prepared_measured": "Ich habe Teilproben für {runs} vorbereitet und gemessen, wie aufgezeichnet.",
    "signed/released": "Ich gebe diese Ergebnisse an den Auftraggeber heraus.",
    "signed/reviewed": "Ich habe Messwerte, Berechnungen und Kontrollen geprüft: {runs}.",
    "signed/share": "Ich habe meinen Anteil an der Arbeit geleistet, wie aufgezeichnet: {runs}.",
    "signed/zone_unknown": "{zone} ist hier nicht bekannt",
    "specification/named": "{title}, {id} Version {version}",
    "sum/bounds": "{name} ({parts})",
    "sum/method": "Summe von Zeilen oben",
    "sum/named": "Summe von {elements}",
    "sum/below": "Vor einer Summe steht „<“ vor der Summe dieser Grenzen.",
    "sum/independent": "U einer Summe kombiniert die Unsicherheiten ihrer Summanden als voneinander unabhängig.",
    "uncertainty/95": ", was einem Vertrauensniveau von etwa 95 % entspricht",
    "uncertainty/below": "„<“ steht vor der Bestimmungsgrenze des Verfahrens für die gemessenen Teilproben.",
    "uncertainty/covers": "Sie umfasst: {parts}. Die Probenahme umfasst sie nicht.",
    "uncertainty/k": "k = {k}",
    "uncertainty/k_several": "k wie daneben angegeben",
    "uncertainty/recovery": "Kein Wert ist um die Wiederfindung korrigiert.",
    "uncertainty/u": "U, nach ±, ist die erweiterte Messunsicherheit mit dem Erweiterungsfaktor {k}{level}.",
    "uncorrected/at": "{element} bei {nm} nm",
    "uncorrected/because": "zu {element} sagt das Verfahren: {reason}",
    "uncorrected/one": (
        "{lines} wurde ohne Untergrundkorrektur gemessen; was dort sonst noch absorbiert, wurde mitgemessen"
    ),
    "uncorrected/several": (
        "{lines} wurden ohne Untergrundkorrektur gemessen; was dort sonst noch absorbiert, wurde mitgemessen"
    ),
    "uncorrected/vapour": "organische und andere Dämpfe, die bei {nm} nm absorbieren, würden als Quecksilber gemessen",
}

_MONTHS: Final = (
    *("Januar", "Februar", "März", "April", "Mai", "Juni"),
    *("Juli", "August", "September", "Oktober", "November", "Dezember"),
)
_COUNTS: Final = (
    *("keine", "ein", "zwei", "drei", "vier", "fünf", "sechs"),
    *("sieben", "acht", "neun", "zehn", "elf", "zwölf"),
)

DE: Final[dict[str, str]] = {
    **_LABELS,
    **_SENTENCES,
    **CODES_DE,
    **PAPERS_DE,
    **{f"month/{number}": name for number, name in enumerate(_MONTHS, start=1)},
    **{f"count/{number}": name for number, name in enumerate(_COUNTS)},
}
