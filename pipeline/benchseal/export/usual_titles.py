"""Usual titles of the fields of a row: a title listed here may stand over its own fields and over no other.

The name of a field itself stands over that field alone. What is listed beside it is common practice, without a source;
a title that is neither is free.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from typing import TYPE_CHECKING, Final

from benchseal.export.analytes import ANALYTES
from benchseal.export.element_words import named_symbol
from benchseal.export.record_words import VALUES
from benchseal.export.title_words import words_of
from benchseal.records.released import DELIVERY_FIELDS, ROW_FIELDS

if TYPE_CHECKING:
    from collections.abc import Iterator

_VALUE: Final = " ".join(sorted(VALUES))
USUAL_TITLES: Final[dict[str, str]] = {
    f"{_VALUE} verdict reported_kind result_id record_sha256": "result|results|test result|final result|ergebnis|"
    "résultat|resultado|risultato|resultaat|wynik",
    f"{_VALUE} reported_kind": "value|values|reading|measured value|reported value|wert|messwert|valeur|valor|valore",
    f"{_VALUE} reported_quantity expressed_as": "concentration|content|amount|gehalt|konzentration|teneur",
    "detection_limit": "lod|mdl|limit of detection|nachweisgrenze|nwg|ld|limite de détection|"
    "límite de detección|limite di rilevabilità",
    "quantitation_limit": "loq|mql|pql|limit of quantitation|limit of quantification|"
    "quantification limit|bestimmungsgrenze|bg|lq|limite de quantification|límite de cuantificación",
    "detection_limit quantitation_limit": "reporting limit",
    "spec_high": "upper limit|max limit|maximum limit|limit max|max|maximum|upper specification limit|usl|spec max|"
    "high limit|limit high|obergrenze|höchstwert|höchstgehalt|oberer grenzwert|limite supérieure|maximum level",
    "spec_low": "lower limit|min limit|minimum limit|limit min|min|minimum|lower specification limit|lsl|spec min|"
    "low limit|limit low|untergrenze|mindestwert|mindestgehalt|unterer grenzwert|limite inférieure",
    "spec_low spec_high detection_limit quantitation_limit specification_id": "limit|limits|specification limit|"
    "spec limit|grenzwert|limite",
    "expanded_uncertainty uncertainty_unit": "uncertainty|measurement uncertainty|unsicherheit|"
    "messunsicherheit|erweiterte unsicherheit|incertitude|incertidumbre|incertezza|uncertainty u",
    "": "standard uncertainty|standard uncertainty u|combined uncertainty|combined standard uncertainty|urel|rel u|"
    "relative uncertainty|uncertainty rel|rel uncertainty|standardunsicherheit|relative unsicherheit|rsd|stdev|"
    "standard deviation|standardabweichung|recovery|wiederfindung|relative standard deviation|"
    "multiplier|multiply by|scale|scale factor|scaling factor|divisor|divide by|exponent|power of ten|multiplikator|"
    "skalierung|skalierungsfaktor|teiler|zehnerpotenz|multiplicateur|diviseur|multiplicador|moltiplicatore|divisore|"
    "atomic number|ordnungszahl|numéro atomique|atomic mass|atomic weight|molar mass|atommasse|molmasse|einecs|"
    "expiry date|expiry|expiration date|expires|expires on|best before|use by|shelf life|retest date|haltbar bis|"
    "mindesthaltbarkeit|mindesthaltbarkeitsdatum|verfallsdatum|verfalldatum|mhd|date d expiration|fecha de caducidad|"
    "data di scadenza|manufacturing date|date of manufacture|herstelldatum|herstellungsdatum|date de fabrication|"
    "due date|fällig am|date of birth|geburtsdatum",
    "coverage_factor": "k|k factor|erweiterungsfaktor|faktor k",
    "coverage_factor dilution_factor": "factor|faktor|facteur|fattore",
    "value_unrounded": "unrounded|unrounded value|unrounded result|ungerundet|ungerundeter wert|full precision",
    "value_text value_number": "rounded|rounded value|rounded result|gerundet|gerundeter wert",
    "coverage_probability": "level of confidence|confidence level|confidence|vertrauensniveau",
    "dilution_factor": "dilution|verdünnung|verdünnungsfaktor",
    "verdict decision_rule": "evaluation|conformity|compliance|assessment|judgement|judgment|conclusion|"
    "bewertung|beurteilung|konformität|urteil|conformité|conformidad|conformità|oordeel|conformance",
    "verdict change_kind reported_kind signature_state certificate_kind flags": "status|state|statut|estado|stato",
    "basis": "bezug|bezugsbasis",
    "qualifier": "sign|operator|comparator|vorzeichen|signe|signo|segno",
    "change_kind change_reason": "change|änderung|changement|cambio",
    "reported_kind": "result type|result kind",
    "unit_ucum unit_display uncertainty_unit": "unit|units|uom|einheit|einheiten|masseinheit|dimension|"
    "unité|unidad|unità|eenheid|enhed|enhet|unit of measure",
    "element_symbol analyte_name sum_elements expressed_as cas_number loinc_code": "element|analyte|parameter|symbol|"
    "metal|analyt|elemento|élément",
    "sampled_at": "sampled|sampled on|sampling date|date sampled|date of sampling|collected at|"
    "collection date|probenahme|probenahmedatum|entnahmedatum|date de prélèvement",
    "received_at": "received|received on|date received|receipt date|date of receipt|eingang|eingangsdatum|"
    "probeneingang|date de réception",
    "measured_at": "measured on|date measured|measurement date|date of measurement|analysed at|analyzed at|"
    "analysis date|date of analysis|date analysed|date analyzed|messdatum|analysedatum|date d analyse|test date|"
    "date tested|tested on|tested at",
    "reviewed_at": "reviewed on|review date|date reviewed",
    "released_at": "released on|release date|date released|freigabedatum|freigegeben am",
    "released_at produced_at": "reported at|report date|date reported|issued at|issue date|date of issue",
    "reviewed_at released_at": "approved at|approved on|approval date",
    "produced_at": "exported at|created at|export date",
    "analyst_id analyst_name": "analyst|analysed by|analyzed by|measured by|tested by|performed by|"
    "analytiker|laborant|analyste|analista",
    "reviewed_by": "reviewer|checked by|geprüft von",
    "released_by": "releaser|freigegeben von|authorised by|authorized by",
    "reviewed_by released_by": "approved by|approver",
    "analyst_id analyst_name reviewed_by released_by": "signed by|signatory",
    "client_sample_id": "customer sample|client sample|your sample|kundenprobe|customers sample|clients sample",
    "lab_sample_id": "lab sample|laboratory sample|our sample|laborprobe",
    "lab_sample_id client_sample_id container_id": "sample|probe|probennummer|échantillon|muestra|campione",
    "revision replaces_revision run_version method_version specification_version": "rev",
    "certificate_no certificate_kind replaces_certificate_no certificate_sha256": "certificate|report|coa|zertifikat|"
    "zertifikatsnummer|certificat|certificado|certificato",
    "replaces_certificate_no": "replaces certificate|replaced certificate|supersedes certificate|"
    "previous certificate|ersetzt zertifikat|ersetztes zertifikat|remplace le certificat",
    "replaces_certificate_no replaces_revision": "replaces|supersedes|ersetzt|remplace",
    "cas_number": "cas|cas rn|cas registry",
    "lot_id": "lot|charge|chargennummer|lotto|lote",
    "lot_id batch_id run_id preparation_id delivery_id": "batch",
    "client_order_id": "order|purchase order|auftrag|auftragsnummer|bestellnummer|commande|pedido",
    "customer_id": "customer|client|kunde|cliente",
    "method_id method_version method_sha256 technique": "method|methode|verfahren|test method|méthode|método|metodo",
    "technique": "technik",
    "specification_id specification_version specification_sha256 spec_low spec_high decision_rule": "specification|spec|"  # noqa: E501
    "spezifikation|spécification",
    "instrument_id instrument_serial": "instrument|gerät",
}  # fmt: skip
_ENDS: Final = frozenset("no nr number nummer num id ident identifier code".split())  # noqa: SIM905
_ASIDE: Final = re.compile(r"[\[(][^\])]*[\])]|[^\s/]+/[^\s/]+")  # what stands in brackets; a unit


def fields_titled(title: str, of: str = "") -> frozenset[str] | None:
    """The fields a title is usual for; None for a title that is not listed.

    of: the column's elements, whose symbols and names are left out; names of other elements are too.
    """
    if name := field_named(title, of):
        return frozenset({name})
    for _, left in _read(title, of):
        without = [word for word in left if word not in _ENDS] if len(left) > 1 else left
        for words in (left, without):
            if field := _names().get("".join(words)):
                return frozenset({field})
            if (found := _listed().get(" ".join(words))) is not None:
                return found
    return None


def field_named(title: str, of: str = "") -> str:
    """The canonical field whose name a title is, however it is separated; empty for every other title."""
    own = {symbol.casefold() for symbol in of.split()}
    for words, left in _read(title, of):
        inner = words[1:] if words and words[0] in own else words  # As is an element, and a word of expressed_as
        for one in (words, inner, left):
            if name := _names().get("".join(one)):
                return name
    return ""


def _read(title: str, of: str) -> Iterator[tuple[list[str], list[str]]]:
    """The words of a title, and those of them that name no element; twice where capitals stand within."""
    if title.strip() in ANALYTES:  # K of potassium
        return
    own = {symbol.casefold() for symbol in of.split()}
    for words in words_of(_ASIDE.sub(" ", unicodedata.normalize("NFKC", title))):
        small = [word.casefold() for word in words if not word.isdigit() and word.isalpha()]
        left = [word for word in small if word not in own and not (len(word) > len("Pb") and named_symbol(word))]
        yield small, left


@cache
def _names() -> dict[str, str]:
    """Each canonical field by the letters of its name."""
    return {"".join(filter(str.isalpha, name)): name for name in (*ROW_FIELDS, *DELIVERY_FIELDS)}


@cache
def _listed() -> dict[str, frozenset[str]]:
    return {
        phrase: frozenset(fields.split()) for fields, phrases in USUAL_TITLES.items() for phrase in phrases.split("|")
    }
