"""Usual words for the words of the record, in the languages laboratories write to each other in, and their letters.

Common practice, no source. A map may turn a word of the record into a text listed for it, or into a code
(``is_code``), and into nothing else: so a word nobody thought of is refused, not believed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Sense:
    """texts: small letters. words: of the field, for which such a text may stand."""

    says: str
    texts: frozenset[str]
    words: frozenset[str]


def _listed(texts: str) -> frozenset[str]:
    return frozenset(text.casefold() for text in texts.split("|"))


def _sense(says: str, texts: str, *words: str) -> Sense:
    return Sense(says, _listed(texts), frozenset(words))


# A verdict may be told more strictly than it is, never more mildly: nothing but a pass may read as one.
SENSES: Final[dict[str, tuple[Sense, ...]]] = {
    "verdict": (
        _sense(
            "a pass",
            "pass|passed|passes|p|ok|okay|o.k.|good|g|conform|conforms|conforming|conformity|compliant|complies|comply|c|"
            "accept|accepted|acceptable|a|approved|approve|released|in spec|in specification|within|within limits|"
            "within specification|met|meets|is|satisfactory|true|yes|y|1|green|safe|usable|go|valid|no fault|"
            "not failed|passed with remark|bestanden|i.o.|io|konform|entspricht|erfüllt|in ordnung|ja|j|wahr|grün|"
            "freigegeben|nicht beanstandet|zulässig|gut|conforme|accepté|acceptée|oui|vrai|vert|satisfaisant|aprobado|"
            "aceptado|cumple|sí|si|s|verde|superato|accettato|idoneo|goedgekeurd|voldoet|akkoord|aprovado|aceito|"
            "zgodny|zgodna|spełnia|vyhovuje|vyhovující|godkänd|godkendt|godkjent|✓|✔|☑",
            "pass",
            "conditional_pass",
        ),
        _sense(
            "a failure",
            "fail|failed|fails|failure|f|x|nok|not ok|n.ok|no|n|0|false|bad|b|nonconform|nonconforming|non-conforming|"
            "not conforming|nc|non-compliant|noncompliant|not compliant|does not comply|reject|rejected|r|"
            "nonconformity|unacceptable|not acceptable|oos|out of spec|out of specification|"
            "outside limits|not met|unsatisfactory|"
            "not passed|red|nicht bestanden|n.i.o.|nio|nicht konform|entspricht nicht|nicht erfüllt|nicht in ordnung|"
            "beanstandet|unzulässig|durchgefallen|nein|falsch|rot|non conforme|refusé|rejeté|non|no conforme|no cumple|"
            "rechazado|suspendido|respinto|non idoneo|afgekeurd|voldoet niet|não conforme|reprovado|rejeitado|"
            "niezgodny|niezgodna|nie spełnia|nevyhovuje|nevyhovující|underkänd|ikke godkendt|ikke godkjent|✗|✘|☒",
            "fail",
            "conditional_fail",
            "conditional_pass",
            "inconclusive",
        ),
        _sense(
            "inconclusive",
            "inconclusive|undecided|undetermined|unentschieden|keine aussage|unklar|indécis|no concluyente|i|u|inc",
            "inconclusive",
        ),
        _sense(
            "a conditional pass",
            "conditional_pass|conditional pass|cp|pass, conditional|bedingt bestanden|bedingt konform|"
            "conforme sous réserve",
            "conditional_pass",
        ),
        _sense(
            "a conditional failure",
            "conditional_fail|conditional fail|cf|fail, conditional|bedingt nicht bestanden|bedingt nicht konform",
            "conditional_fail",
        ),
    ),
    "change_kind": (
        _sense(
            "a withdrawal",
            "withdrawn|withdraw|withdrawal|w|x|d|z|s|cancelled|canceled|cancel|deleted|delete|del|void|revoked|retracted|"
            "zurückgezogen|storniert|storno|gelöscht|ungültig|retiré|annulé|retirado|anulado|ritirato|annullato|"
            "ingetrokken|geannuleerd|wycofany|anulowany|zrušeno|indragen|trukket tilbage",
            "withdrawn",
        ),
        _sense(
            "a new result",
            "new|n|first|original|initial|insert|i|neu|erst|nouveau|nuevo|nuovo|nieuw|novo|nowy|nový|ny",
            "new",
        ),
        _sense(
            "a correction",
            "corrected|correction|rev|revised|c|k|m|amended|amendment|changed|change|update|updated|u|korrigiert|korrektur|berichtigt|"
            "geändert|corrigé|modifié|corregido|corretto|gecorrigeerd|corrigido|poprawiony|opraveno|rättad|rettet",
            "corrected",
        ),
        _sense(
            "a result that holds",
            "valid|active|current|final|f|ok|released|gültig|valide|valable",
            "new",
            "corrected",
        ),
    ),
    "reported_kind": (
        _sense(
            "a measured value",
            "measured|m|quantified|numeric|number|value|exact|found|detected|present|result|positive|valid|gemessen|"
            "bestimmt|wert|messwert|mesuré|medido|misurato|gemeten|zmierzony|uppmätt|målt",
            "measured",
        ),
        _sense(
            "a value below its limit",
            "below_limit|below limit|below|b|less than|<|lt|<loq|<lod|loq|lod|nd|n.d.|not detected|not quantified|"
            "unter grenze|unterhalb|kleiner|nicht nachweisbar|nicht nachgewiesen|n.n.|< bg|<bg|< ng|<ng|bg|< lq|<lq|"
            "inférieur|no detectado|non rilevato|niet aangetoond",
            "below_limit",
        ),
        _sense("a value above a limit", "above_limit|above limit|above|>"),
        _sense(
            "a value that was not determined",
            "not_determined|not determined|not reported|nr|missing|x|"
            "nicht bestimmt|non déterminé|no determinado|non determinato|none",
            "not_determined",
        ),
    ),
    "qualifier": (
        _sense(
            "less than",
            "<|lt|less|less than|below|kleiner|kleiner als|unter|inférieur à|moins de|menor que|minore di|kleiner dan|"
            "menor do que|mniej niż|mindre än|mindre end",
            "<",
        ),
        _sense("more than", ">|gt|greater|greater than|more|more than|above|over|plus|größer|größer als|über|mehr als"),
        _sense("equal", "=|==|eq|equal|equals|exact|gleich"),
        _sense("up to or from", "<=|>=|≤|≥|le|lte|ge|gte|at least|at most|min|min.|mind.|mindestens|höchstens"),
        _sense("about", "~|≈|about|approx|approx.|ca|ca.|circa|etwa"),
    ),
    "basis": (
        _sense(
            "as received",
            "as received|as-received|as is|as-is|ar|r|wet|wet basis|fresh|fresh weight|fw|ww|w/w|fm|frisch|frischmasse|"
            "frischsubstanz|fs|original|originalsubstanz|os|wie erhalten|anlieferungszustand|tel quel|brut|"
            "matière fraîche|total|tal cual|tale quale|als ontvangen",
            "as received",
        ),
        _sense(
            "on dry basis",
            "dry|d|dry basis|dry weight|dry matter|dried|dw|dm|db|trocken|trockenmasse|trockensubstanz|tm|ts|sec|"
            "matière sèche|ms|seco|secco|materia seca|sostanza secca|droge stof|ds|sucha masa|torrsubstans",
            "dry",
        ),
    ),
    "signature_state": (
        _sense("signed", "signed|s|valid|ok|signiert|unterschrieben|gültig|signé|firmado|firmato", "signed"),
        _sense(
            "revoked",
            "revoked|r|x|invalid|withdrawn|unsigned|not signed|void|zurückgezogen|widerrufen|ungültig|révoqué|revocado",
            "revoked",
        ),
    ),
    "certificate_kind": (
        _sense("an original", "original|o|first|erstausfertigung|initial", "original"),
        _sense("an amendment", "amendment|a|amended|corrected|correction|änderung|berichtigung|avenant", "amendment"),
        _sense("a supplement", "supplement|s|addition|nachtrag|ergänzung|complément", "supplement"),
    ),
    "reported_quantity": (
        _sense("a content", "content|mass fraction|gehalt|massenanteil|teneur|contenido|contenuto", "content"),
        _sense(
            "a concentration", "concentration|conc|conc.|mass concentration|konzentration|concentración|concentrazione",
            "concentration",
        ),
        _sense("an amount per unit", "amount_per_unit|amount per unit|per unit|je einheit", "amount_per_unit"),
        _sense(
            "a percentage of claim",
            "percent_of_claim|percent of claim|% of claim|% claim|% label claim|% of label claim", "percent_of_claim",
        ),
        _sense("a release per area", "release_per_area|release per area|per area|je fläche", "release_per_area"),
    ),
    "technique": (
        _sense("flame", "flame|f|faas|f-aas|fl-aas|flame aas|flamme|llama|fiamma", "flame"),
        _sense("furnace", "furnace|g|gf|gfaas|gf-aas|etaas|et-aas|graphite furnace|graphitrohr|four|horno", "furnace"),
        _sense("cold vapour", "cold_vapour|cold vapour|cold vapor|cv|cvaas|cv-aas|kaltdampf", "cold_vapour"),
        _sense("hydride", "hydride|hg|hgaas|hg-aas|hydride generation|hydrid|hydrures|hidruros", "hydride"),
    ),
    "sum_bound": (
        _sense("a lower bound", "lower_bound|lower bound|lower|lb|l|untergrenze", "lower_bound"),
        _sense("a medium bound", "medium_bound|medium bound|medium|mb|m|mittelwert", "medium_bound"),
        _sense("an upper bound", "upper_bound|upper bound|upper|ub|u|obergrenze", "upper_bound"),
    ),
    "fraction": (
        _sense("the total", "total|tot|t|whole|gesamt|totale", "total"),
        _sense("what is dissolved", "dissolved|diss|filtered|soluble|gelöst|filtriert|dissous", "dissolved"),
        _sense("what is extractable", "extractable|leachable|available|bioavailable|extrahierbar", "extractable"),
        _sense("what is suspended", "suspended|particulate|suspendiert", "suspended"),
    ),
}  # fmt: skip
# Texts that say that nothing is there, in small letters.
NOTHING: Final = _listed(
    "-|--|---|\u2013|\u2014|*|.|n/a|na|n.a.|#n/a|none|null|empty|blank|missing|unknown|no value|no result|no limit|"
    "no limits|no verdict|no sign|no unit|no number|no basis|no element|no entry|not given|none given|not stated|"
    "not determined|not reported|not available|not applicable|not measured|not tested|not judged|not assessed|"
    "without limit|k.a.|k. a.|keine angabe|kein wert|kein ergebnis|kein grenzwert|keine|ohne|ohne angabe|"
    "ohne grenzwert|nicht bestimmt|nicht gemessen|nicht bewertet|entfällt|sans objet|s.o.|non déterminé|non applicable|"
    "pas de valeur|sin valor|no aplica|no determinado|non determinato|n.v.t.|geen|brak|nie dotyczy"
)
# Words for numbers, and for what is too little to be one.
NUMBER_WORDS: Final = _listed(
    "zero|nil|one|two|three|ten|hundred|half|infinity|infinite|trace|traces|eins|zwei|zehn|spur|spuren|zéro|cero|un|uno|"
    "nul|nothing found|none found|not found|none detected|not detected|nd|n.d.|<lod|<loq|lod|loq"
)
# Two texts a flag writes for yes and no, whatever it is a flag of, in small letters.
YES_AND_NO: Final = frozenset(
    (pair.partition(":")[0], pair.partition(":")[2])
    for pair in _listed("1:0|y:n|yes:no|j:n|ja:nein|true:false|t:f|o:n|oui:non|s:n|sí:no|si:no|x:-|+:-|w:f|wahr:falsch")
)
