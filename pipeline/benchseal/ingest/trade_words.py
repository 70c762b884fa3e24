"""Words of the trade an export may use, English and German, and what they mean to a layout: common practice, no source.

A word is compared in small letters, without what stands in brackets and without signs at its ends.
"""

from __future__ import annotations

import re

from benchseal.records.signal_headers import kind_of_signal

SYMBOLS = frozenset(
    [
        "Ag",
        "Al",
        "As",
        "Au",
        "B",
        "Ba",
        "Be",
        "Bi",
        "Ca",
        "Cd",
        "Co",
        "Cr",
        "Cs",
        "Cu",
        "Fe",
        "Ga",
        "Ge",
        "Hg",
        "In",
        "K",
        "Li",
        "Mg",
        "Mn",
        "Mo",
        "Na",
        "Ni",
        "P",
        "Pb",
        "Pd",
        "Pt",
        "Rb",
        "Rh",
        "Ru",
        "S",
        "Sb",
        "Se",
        "Si",
        "Sn",
        "Sr",
        "Te",
        "Ti",
        "Tl",
        "V",
        "W",
        "Zn",
    ]
)

# Names of metals, in small letters.
METALS = {"lead": "Pb", "blei": "Pb", "cadmium": "Cd", "copper": "Cu", "kupfer": "Cu", "zinc": "Zn", "zink": "Zn",
           "nickel": "Ni", "chromium": "Cr", "chrom": "Cr", "iron": "Fe", "eisen": "Fe", "mercury": "Hg",
           "quecksilber": "Hg", "arsenic": "As", "arsen": "As", "selenium": "Se", "selen": "Se", "sodium": "Na",
           "natrium": "Na", "potassium": "K", "kalium": "K", "calcium": "Ca", "magnesium": "Mg", "silver": "Ag",
           "silber": "Ag", "manganese": "Mn", "cobalt": "Co", "aluminium": "Al",
           "kobalt": "Co", "mangan": "Mn", "aluminum": "Al", "tin": "Sn", "zinn": "Sn",
           "antimony": "Sb", "antimon": "Sb", "barium": "Ba", "beryllium": "Be", "bismuth": "Bi", "bismut": "Bi",
           "gold": "Au", "lithium": "Li", "molybdenum": "Mo", "molybdän": "Mo", "platinum": "Pt", "platin": "Pt",
           "palladium": "Pd", "strontium": "Sr", "tellurium": "Te", "tellur": "Te", "thallium": "Tl", "titanium": "Ti",
           "titan": "Ti", "vanadium": "V", "vanadin": "V"}  # fmt: skip

COLUMNS: dict[str, str] = {
    word: means
    for means, words in {
        "position": "pos, pos no, position, no, nr, seq, sequence, lfd nr, cup, cup no, place, "
        "platz, vial, tube, becher",
        "label": "sample, sample id, sample name, id, name, label, solution, probe, proben-id, probenname, "
        "probenbezeichnung, bezeichnung, lösung, sample no, proben-nr, lab no, labornummer",
        "kind": "type, sample type, kind, class, role, art, typ, probenart, probentyp",
        "nominal": "nominal, nominal conc, set, true, target, soll, sollwert, standard conc, std conc, given",
        "dilution": "dilution, dilution factor, dil, df, factor, verdünnung, verd, faktor, verdünnungsfaktor",
        "replicate": "rep, repl, replicate, rep no, reading no, wdh, wiederholung, messung, replikat, reading, read",
        "signal": "abs, absorbance, a, signal, ext, extinktion, absorption, peak area, area, integrated absorbance, "
        "peakfläche, fläche, peak height, height, peakhöhe, höhe, abs s, a s, peak",
        "background": "background, bg, bkg, untergrund, background abs",
        "taken_at": "time, uhrzeit, zeit, clock",
        "day": "date, datum, day, tag",
        "day_time": "date time, date/time, datum/zeit, datum uhrzeit, measured, measured at, gemessen, taken, "
        "timestamp",
        "element": "element, el, elem, analyte, analyt",
        "wavelength_nm": "wavelength, nm, line, wellenlänge, lambda",
        "reading_number": "reading number, firing, counter, zähler",
        "mean": "mean, mean abs, average, avg, mittel, mittelwert, mw, mean absorbance",
        "concentration": "conc, concentration, result, konz, konzentration, ergebnis, gehalt, value, found",
        "ignored": "sd, std dev, stdev, s, rsd, %rsd, rsd %, rel sd, cv, vk, unit, units, einheit, remark, remarks, "
        "comment, flag, bemerkung, stabw, stdabw, standardabweichung",
    }.items()
    for word in words.split(", ")
}

FACTS: dict[str, str] = {
    word: fact
    for fact, words in {
        "element": "element, analyte, analyt, metal, metall",
        "wavelength_nm": "wavelength, line, wellenlänge, linie, lambda, line in nm, resonance line, wl",
        "technique": "technique, atomiser, atomizer, atomisation, mode, technik, verfahren, atomisierung",
        "instrument_serial": "serial, serial no, serial number, s/n, instrument no, instrument number, instrument, "
        "seriennummer, seriennr, serien-nr, gerätenummer, geräte-nr, gerät, apparatus",
        "operator": "operator, analyst, user, bediener, anwender, bearbeiter, laborant, read by, measured by",
        "method_name": "method, method name, programme, methode, method file, methodenname",
        "started": "date, start, started, begun, run date, datum, beginn, measured, gemessen am, date/time, messung",
        "started_time": "time, start time, uhrzeit, zeit, startzeit",
        "signal_unit": "signal unit, unit of signal, unit, einheit",
        "signal_is": "signal, quantity, messgröße, meßgröße, measured quantity, reading is",
        "background_correction": "background, background correction, untergrundkorrektur, bgc, untergrund",
        "slit_nm": "slit, slit width, spalt, spaltbreite",
        "flame": "flame, flame type, gas, flamme",
        "signal_form": "signal form, evaluation, peak evaluation, auswertung, messart, signalart",
        "injection_ul": "injection, injected, volume, injection volume, probenvolumen, injektion",
    }.items()
    for word in words.split(", ")
}

VALUES: dict[str, tuple[tuple[str, str], ...]] = {
    "technique": (
        ("cold vap|kaltdampf", "cold_vapour"),
        ("hydrid", "hydride"),
        ("furnace|graphite|graphit|tube|rohr|ofen", "furnace"),
        ("flame|flamme", "flame"),
    ),
    "flame": (("nitrous|n2o|lachgas", "nitrous_oxide_acetylene"), ("air|luft", "air_acetylene")),
    "signal_form": (
        ("area|fläche|integr", "integrated"),
        ("height|höhe", "peak_height"),
        ("contin|kontin", "continuous"),
    ),
    "signal_is": (("abs|ext", "absorbance"), ("conc|konz|gehalt", "instrument_concentration")),
}

MEAN = frozenset(["mean", "average", "avg", "mittel", "mittelwert", "mw", "ø"])
SPREAD = frozenset(["sd", "rsd", "%rsd", "rsd%", "stdev", "stabw", "cv", "vk"]) | {"std dev", "rel sd"}
OVER = frozenset(
    ["over", "high", "overrange", "above", ">max", "+++", "****", "*****", "over-range", "übersteuert", "above-top"]
)
MISSING = frozenset(["n.a.", "na", "n/a", "-", "--", "---", "none", "missing", "fehlt", "no-value"])
UNITS = re.compile(
    r"(?:[\[(]?(?:[mµun]?g/(?:m?l|k?g)|[mµu]g/dm3|pp[mbt]|abs|a|a[ ·*.]?s|nm|[mµu]l|s|h|min|%|1|-|"
    r"\w\w:\w\w(?::\w\w)?)[\])]?)?",
    re.IGNORECASE,
)

SECONDS = r"A[ .·*]?s"  # absorbance in seconds, as files write it; records write ``A.s``

# Codes in a column of kinds.
CODES: dict[str, str] = {
    code: kind
    for kind, codes in {
        "calibration_blank": "b bl blk blank zero z blind blindwert bw leer leerwert",
        "standard": "s st std standard cal c kal eich eichung kalibrierung",
        "check_standard": "q qc check control k kontrolle chk",
        "sample": "p u sample unknown unk smp probe",
        "rinse": "r rinse wash",
        "duplicate": "d dup duplicate",
        "spiked_sample": "spk ms",
    }.items()
    for code in codes.split()
}

# Codes of two kinds: of calibration, and of control (KB, KS in German). Names or concentrations have to tell.
EITHER = frozenset(["kb", "ks"])

# Names of solutions, from the beginning of the name; the first that fits.
KINDS: tuple[tuple[str, str], ...] = (
    (
        "check_blank",
        (
            r"(?i)((chk|check|qc|ccb|icb)[\W_]*(blk|blank|blind|leer).*|(ccb|icb)[\W_]*[0-9]*|"
            r"(blk|blank|blind|leer)\w*[\W_]*(chk|check|kontroll|pr(ü|ue)f).*|(kontroll|pr(ü|ue)f).?(blind|leer).*)"
        ),
    ),
    (
        "second_source",
        (
            r"(?i)((icv|qcs)[\W_]*[0-9]*|(second|2nd).?source.*|zweit.?(quelle|standard).*|"
            r"(qc|check|chk|std|standard|cal)[\W_]*(2nd|second|zweit).*)"
        ),
    ),
    ("control_sample", r"(?i)((lcs|lfb)[\W_]*[0-9]*|(control.?sample|kontroll.?probe).*)"),
    ("reference_material", r"(?i)((crm|zrm)[\W_]*[0-9]*|(reference.?material|referenz.?material|ref.?mat).*)"),
    (
        "check_standard",
        (
            r"(?i)((qc|check|chk|control std|kontroll|ks).*|ccv[\W_]*[0-9]*|"
            r"pr(ü|ue)f(ung|std|standard|l(ö|oe)sung)?([\W_]*[0-9]+)?)"
        ),
    ),
    (
        "method_blank",
        (
            r"(?i)((method blank|prep blank|mb|reagent.?blank).*|lrb[\W_]*[0-9]*|"
            r"(aufschluss|verfahrens|methoden|proben|reagenzien).?(blind|leer).*)"
        ),
    ),
    (
        "calibration_blank",
        r"(?i)((cal.?(zero|blank|blk)|blank|blk|zero|null|blind|leer|(std|standard|s|cal).?0(\D.*)?).*|b[\W_]?0)",
    ),
    (
        "standard",
        (
            r"(?i)(std|standard|cal|stand)[\W_]*[0-9a-z].*|[Ss] ?[1-9][0-9]?|kal(ibr\w*)?[\W_]*[0-9].*|"
            r"eich(ung|std|standard|punkt|l(ö|oe)sung)?([\W_]*[0-9]+)?"
        ),
    ),
    ("rinse", r"(?i)(rinse|sp(ü|ue)l).*"),
    ("duplicate", r"(?i).*(dup|duplicate|doppel|doppelbestimmung|doppelprobe)([\W_]+[0-9]+)?"),
    ("spiked_sample", r"(?i).*(spike|spiked|aufstock|aufstockung|aufgestockt)([\W_]*[0-9]+)?"),
)

# Words two kinds go by; what a person has to ask.
DOUBTS: tuple[tuple[str, str], ...] = (
    ("calibration_blank", "one prepared like the samples is a method_blank, one read as a check is a check_blank"),
    ("second_source", "one of the lot of the standards is a check_standard"),
    ("check_standard", "one prepared like the samples is a control_sample, one of another maker's lot a second_source"),
)


# Words of a longer header that say what its column holds; the first that stands in it.
_IN_HEADERS: tuple[tuple[str, str], ...] = (
    (r"\b(?:bg|bkg|background|untergrund)\b", "background"),
    (r"\b(?:mean|average|avg|mittelwert|mittel)\b", "mean"),
    (r"\b(?:sd|rsd|dev|cv|stdev|stabw)\b|%", "ignored"),
    (r"\b(?:abs|absorbance|ext|extinktion)\b", "signal"),
)

_SHARE = re.compile(r"(?i)[ ,]+(?:[mµμun]?g ?/ ?[mk]?[lg]|pp[mbt])$")  # a unit of concentrations without brackets
_OF_SIGNAL = re.compile(r"\b(?:abs\w*|ext\w*|aa|signal|peak)\b")  # beside a word for less its background, or not


def bare(text: str) -> str:
    """A header or key as the lists write it: small letters, no brackets, no signs at its ends, single blanks."""
    inner = re.sub(r"[\[(].*?[\])]", " ", text)
    name, stroke, unit = inner.rpartition("/")
    inner = name if stroke and name and unit and UNITS.fullmatch(unit.strip()) else inner
    return " ".join(re.sub(r"[_.:=]+", " ", inner).lower().split()).strip(" -*#")


def fact_of(key: str) -> str:
    """The fact a key says, with or without its unit behind it (``line nm``); empty where no list knows it."""
    name = bare(key)
    return FACTS.get(name) or FACTS.get(re.sub(r" (?:in )?(?:nm|[uµ]l)$", "", name), "")


def column_means(header: str) -> tuple[str, int]:
    """What a header says, and the number behind it (``Abs 2``); empty where no list knows it."""
    name = bare(header)
    short = bare(_SHARE.sub("", header))
    if name not in COLUMNS and COLUMNS.get(short) in {"nominal", "concentration"}:
        return COLUMNS[short], 0
    if name in COLUMNS:
        return COLUMNS[name], 0
    numbered = re.fullmatch(r"(.*?)[ -]?(\d{1,2})", name)
    if numbered and COLUMNS.get(numbered[1]) in {"signal", "replicate"}:
        return "signal", int(numbered[2])
    if numbered and numbered[1] in {"r", "rep", "m"}:
        return "signal", int(numbered[2])
    return "", 0


def word_means(header: str) -> str:
    """What a word of a longer header says; empty where none does."""
    name = bare(header)
    if kind_of_signal(header) in {"corrected", "uncorrected"} and _OF_SIGNAL.search(name):
        return "signal"
    return next((means for pattern, means in _IN_HEADERS if re.search(pattern, name)), "")


def unit_in(header: str) -> str:
    """The unit a header ends with: ``Area [A s]``, ``area/A s``; empty where it shows none."""
    found = re.search(r"[\[(/]\s*([^\[\](/)]+?)\s*[\])]?$", header)
    return found[1] if found and UNITS.fullmatch(found[1]) else ""


def element_of(header: str) -> tuple[str, str]:
    """Symbol and wavelength of a header such as ``Pb 283.3``; empty where it names none."""
    found = re.match(r"([A-Z][a-z]?)(?:[ _-]*(\d{3}[.,]\d+))?(?: *nm)?(?:\W+\D*)?$", header)
    if found is None or found[1] not in SYMBOLS or (len(found[1]) == 1 and not found[2]):
        return "", ""
    return found[1], (found[2] or "").replace(",", ".")


def symbol_of(word: str) -> str:
    """The symbol of the element a word names, by its symbol or its name; empty where it names none."""
    return word if word in SYMBOLS else METALS.get(word.lower(), "")
