"""Rules of a method's conditions: what each technique needs on record, and what contradicts the technique."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from benchseal.documents.judge import Fault, method_fault
from benchseal.records.elements import element_name
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Conditions, Method

# What each technique needs on record; a field that stands here for another technique only must be empty.
NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "flame": ("flame", "stoichiometry", "burner", "releasing_agent", "ionisation_buffer"),
    "furnace": ("injection_ul", "modifier"),
    "cold_vapour": ("reductant",),
    "hydride": ("reductant", "pre_reduction"),
}
# Forms of one reading. Integrated absorbance is an area (A.s), the others are heights (A).
FORMS: Final[dict[str, tuple[str, ...]]] = {
    "flame": ("continuous",),
    "furnace": ("integrated",),
    "cold_vapour": ("peak_height", "integrated"),
    "hydride": ("continuous", "peak_height", "integrated"),
}
# Elements that form a volatile hydride (ISO 17378-2 and 17379-2 for As and Se; the list from memory).
HYDRIDES: Final = ("As", "Se", "Sb", "Bi", "Te", "Sn")
# Of these the higher oxidation state gives little or no hydride: how it is brought down belongs to the method
# (As(V) and Sb(V) with iodide, Se(VI) with hot acid; from memory).
PRE_REDUCED: Final = ("As", "Se", "Sb")
# Elements whose oxides hardly come apart in air and acetylene. From memory: those that Standard Methods 3111 D reads
# with nitrous oxide (Al, Be, Mo, Si, Th, Ti, V), and B, Ge, Hf, Nb, Re, Sc, Ta, U, W, Y, Zr and the lanthanides.
LANTHANIDES: Final = ("La", "Ce", "Pr", "Nd", "Sm", "Eu", "Gd", "Tb", "Dy", "Ho", "Er", "Tm", "Yb", "Lu")
REFRACTORY: Final = (
    "Al", "B", "Be", "Ge", "Hf", "Mo", "Nb", "Re", "Sc", "Si", "Ta", "Th", "Ti", "U", "V", "W", "Y", "Zr", *LANTHANIDES,
)  # fmt: skip

_IODIDE = re.compile(r"iod|\b(?:KI|NaI|HI)\b", re.IGNORECASE)
_MEANS_NONE: Final = frozenset({"none", "no", "not", "off", "nothing", "without", "uncorrected", "not corrected"})
_SAY = "Say it; where there is none, write 'none'."


def condition_faults(method: Method) -> Iterator[Fault]:
    """Every rule the conditions of a method break."""
    yield from _background(method)
    yield from _present(method)
    yield from _foreign(method)
    yield from _signal_form(method)
    yield from _element(method)
    yield from _pre_reduction(method)
    yield from _amounts(method.conditions)


def is_none(text: str) -> bool:
    """Whether a text answers ``none`` and nothing else."""
    return text.strip().casefold() == "none"


def _background(method: Method) -> Iterator[Fault]:
    """Measuring without correction is allowed with its reason, which the certificate prints."""
    if not method.slit_nm or decimal_of(method.slit_nm) == 0:
        yield method_fault(("slit_nm",), "slit", "The spectral bandwidth is not stated.", "Give slit_nm, above zero.")
    mode, reason = method.background_correction, method.uncorrected_because.strip()
    if not mode:
        what = "background_correction is empty."
        yield method_fault(("background_correction",), "condition-missing", what, _SAY)
    elif mode != "none" and mode.casefold() in _MEANS_NONE:
        what = f"background_correction is '{mode}'."
        yield method_fault(("background_correction",), "uncorrected", what, "Where nothing is corrected, write 'none'.")
    elif mode == "none" and not reason:
        what = "background_correction is none and uncorrected_because is empty."
        remedy = "Say why the method may measure uncorrected; the certificate prints it."
        yield method_fault(("uncorrected_because",), "uncorrected", what, remedy)
    elif mode != "none" and reason:
        what = f"background_correction is {mode}, yet uncorrected_because says why there is none."
        yield method_fault(("uncorrected_because",), "uncorrected", what, "Empty it, or set the correction to none.")


def _present(method: Method) -> Iterator[Fault]:
    given = method.conditions
    for name in (*NEEDED[method.technique], "signal_form"):
        if getattr(given, name).strip():
            continue
        if name == "ionisation_buffer" and given.flame == "nitrous_oxide_acetylene":
            what = "The nitrous oxide flame is hot enough to ionise many elements, and ionisation_buffer is empty."
        else:
            what = f"{name} is empty; the {method.technique} technique needs it on record."
        remedy = "Say it." if name in {"flame", "stoichiometry", "signal_form", "injection_ul"} else _SAY
        yield method_fault(("conditions", name), "condition-missing", what, remedy)
    if method.technique == "furnace" and method.background_correction != "none" and not given.largest_background:
        what = "largest_background is empty; a furnace reading with too much background is not usable."
        remedy = "Give the greatest background absorbance, and its source."
        yield method_fault(("conditions", "largest_background"), "condition-missing", what, remedy)


def _foreign(method: Method) -> Iterator[Fault]:
    own = NEEDED[method.technique]
    for name in dict.fromkeys(name for names in NEEDED.values() for name in names):
        if name not in own and getattr(method.conditions, name):
            found = getattr(method.conditions, name)
            what = f"{name} is '{found[:40]}'; it does not belong to the {method.technique} technique."
            yield method_fault(("conditions", name), "condition-foreign", what, "Empty it, or correct the technique.")


def _signal_form(method: Method) -> Iterator[Fault]:
    form = method.conditions.signal_form
    if form and form not in FORMS[method.technique]:
        what = f"signal_form is {form}; the {method.technique} technique reads {' or '.join(FORMS[method.technique])}."
        yield method_fault(("conditions", "signal_form"), "signal-form", what, "Correct one of them.")
    elif form and method.signal_is != "instrument_concentration":
        due = "A.s" if form == "integrated" else "A"
        if method.signal_unit != due:
            what = f"signal_form {form} is read in {due}; signal_unit says {method.signal_unit}."
            yield method_fault(("conditions", "signal_form"), "signal-form", what, "Correct one of them.")


def _element(method: Method) -> Iterator[Fault]:
    element, name = method.element, element_name(method.element)
    if method.technique == "cold_vapour" and element != "Hg":
        what = f"Cold vapour measures mercury only; the element is {name}."
        yield method_fault(("element",), "element-technique", what, "Correct element or technique.")
    if method.technique == "hydride" and element not in HYDRIDES:
        what = f"{name} gives no hydride to measure; those that do: {', '.join(HYDRIDES)}."
        yield method_fault(("element",), "element-technique", what, "Correct element or technique.")
    if method.conditions.flame == "air_acetylene" and method.technique == "flame" and element in REFRACTORY:
        what = f"{name} stays bound as oxide in air and acetylene."
        remedy = "Measure it in the nitrous oxide and acetylene flame, by people trained for it."
        yield method_fault(("conditions", "flame"), "flame-refractory", what, remedy)


def _pre_reduction(method: Method) -> Iterator[Fault]:
    text, element = method.conditions.pre_reduction, method.element
    if method.technique != "hydride" or not text.strip():
        return
    if element == "Se" and _IODIDE.search(text):
        what = f"pre_reduction is '{text[:60]}'; iodide takes selenium down to the element, which is lost."
        remedy = "Reduce selenium(VI) with hot acid; never iodide."
        yield method_fault(("conditions", "pre_reduction"), "pre-reduction", what, remedy)
    elif element in PRE_REDUCED and is_none(text):
        what = f"pre_reduction is none; the higher oxidation state of {element_name(element)} would be read low."
        remedy = "Say how it is reduced, or why none is present."
        yield method_fault(("conditions", "pre_reduction"), "pre-reduction", what, remedy)


def _amounts(given: Conditions) -> Iterator[Fault]:
    if bool(given.acid.strip()) != bool(given.acid_percent):
        name, other = ("acid_percent", "acid") if given.acid.strip() else ("acid", "acid_percent")
        what = f"{other} is given and {name} is empty."
        yield method_fault(("conditions", name), "acid", what, "Give both, or neither.")
    elif given.acid_percent and decimal_of(given.acid_percent) > Decimal(100):
        what = f"acid_percent is {given.acid_percent}; it cannot exceed 100."
        yield method_fault(("conditions", "acid_percent"), "acid", what, "Give the volume fraction of acid.")
    if given.injection_ul and decimal_of(given.injection_ul) == 0:
        what = "injection_ul is zero."
        yield method_fault(("conditions", "injection_ul"), "injection", what, "Give the volume injected.")
    yield from _background_limit(given)


def _background_limit(given: Conditions) -> Iterator[Fault]:
    if bool(given.largest_background) != bool(given.background_source.strip()):
        lacking = "background_source" if given.largest_background else "largest_background"
        what = f"{lacking} is empty; a limit of the background and its source belong together."
        yield method_fault(("conditions", lacking), "background-limit", what, "Give both, or neither.")
    elif given.largest_background and decimal_of(given.largest_background) == 0:
        what = "largest_background is zero: no reading passes."
        yield method_fault(("conditions", "largest_background"), "background-limit", what, "Give a limit.")
