"""Views made of the invented demonstration's figures. They try the layout; they are evidence of nothing."""

# ruff: noqa: RUF001  true dashes and signs are what is printed

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.certificate.language import ENGLISH
from benchseal.certificate.view import (
    CertificateView,
    CheckLine,
    Conformity,
    Customer,
    Item,
    Laboratory,
    Provenance,
    ResultRow,
    RunPanel,
    SignatureParagraph,
    standing_cautions,
)
from benchseal.pictures.calibration import BandPoint, CalibrationData, Standard

if TYPE_CHECKING:
    from collections.abc import Sequence

DIGEST = "9f2c4a7be0d1583367aa0b4c95ef12d08c6e7f31b2a4459d6cd8f0173e5a2b94"
WOBBLE = (0.4, -0.7, 0.9, -0.3, 0.6, -1.0, 0.5, -0.2)


def calibration(  # noqa: PLR0917
    subject: str,
    unit: str,
    levels: Sequence[float],
    coefficients: tuple[float, ...],
    noise: float,
    excluded: dict[int, str] | None = None,
    *,
    area: bool = False,
) -> CalibrationData:
    """Points that wobble about the curve by a fixed pattern."""
    b0, b1, b2 = (*coefficients, 0.0)[:3]
    standards = tuple(
        Standard(c, b0 + b1 * c + b2 * c * c + noise * WOBBLE[i] * (1 + 9 * (i in (excluded or {}))), reason)
        for i, c in enumerate(levels)
        for reason in ((excluded or {}).get(i, ""),)
    )
    xs = [levels[0] + (levels[-1] - levels[0]) * i / 12 for i in range(13)]
    band = tuple(BandPoint(x, b0 + b1 * x + b2 * x * x - 2 * noise, b0 + b1 * x + b2 * x * x + 2 * noise) for x in xs)
    return CalibrationData(
        subject=subject,
        model="a parabola" if len(coefficients) == 3 else "a straight line",
        x_quantity="concentration",
        x_unit=unit,
        y_quantity="integrated absorbance" if area else "absorbance",
        y_unit="s" if area else "",
        standards=standards,
        coefficients=coefficients,
        band=band,
    )


def line(check: str, found: str, limits: str, verdict: str = "met") -> CheckLine:
    """One check line."""
    return CheckLine(check, found, limits, verdict, "complies" if verdict == "met" else "fails")


CHECKS = (
    line("check standards, 5", "97.8–101.6 %", "90–110 %"),
    line("check blanks, 5", "≤ 0.12 µg/L", "< 0.50 µg/L"),
    line("second source", "99.4 %", "90–110 %"),
    line("method blank", "0.08 µg/L", "< 0.50 µg/L"),
    line("control sample", "97 %", "85–115 %"),
    line("reference material", "101 %", "90–110 %"),
    line("spike pair*", "93, 95 %", "75–125 %"),
)
ASSAY_CHECKS = (
    line("check standards, 4", "99.1–100.8 %", "95–105 %"),
    line("check blanks, 4", "≤ 0.003 mg/L", "< 0.010 mg/L"),
    line("second source", "100.4 %", "95–105 %"),
    line("method blank", "0.002 mg/L", "< 0.010 mg/L"),
    line("recovery, pair", "99.4, 100.6 %", "97–103 %"),
)

ZINC = RunPanel(
    "Zinc, 213.9 nm",
    "run R-0001, flame, 12 January 2026",
    "parabola, unweighted · n = 7 · residual sd 0.0021",
    calibration("zinc, 213.9 nm", "mg/L", (0, 0.2, 0.4, 0.8, 1.2, 1.6, 2.0), (0.001, 0.360, -0.035), 0.0024),
    ASSAY_CHECKS,
)
MAGNESIUM = RunPanel(
    "Magnesium, 285.2 nm",
    "run R-0002, flame, 12 January 2026",
    "line, unweighted · n = 6 · residual sd 0.0013",
    calibration("magnesium, 285.2 nm", "mg/L", (0, 0.1, 0.2, 0.3, 0.4, 0.5), (0.001, 0.733), 0.0015),
    ASSAY_CHECKS,
)
LEAD = RunPanel(
    "Lead, 283.3 nm",
    "run R-0005, graphite furnace, 14 January 2026",
    "line, weights 1/x² · n = 6 · residual sd 0.00041 s",
    calibration(
        "lead, 283.3 nm",
        "µg/L",
        (0, 1, 2.5, 5, 10, 15, 20),
        (0.0015, 0.00293),
        0.0004,
        {4: "bubble seen"},
        area=True,
    ),
    CHECKS,
)
CADMIUM = RunPanel(
    "Cadmium, 228.8 nm",
    "run R-0004, graphite furnace, 13 January 2026",
    "line, weights 1/x · n = 6 · residual sd 0.0011 s",
    calibration("cadmium, 228.8 nm", "µg/L", (0, 0.25, 0.5, 1, 1.5, 2), (0.001, 0.088), 0.0012, area=True),
    CHECKS,
)
ARSENIC = RunPanel(
    "Arsenic, 193.7 nm",
    "run R-0006, hydride, 15 January 2026",
    "parabola, weights 1/x · n = 8 · residual sd 0.0019",
    calibration("arsenic, 193.7 nm", "µg/L", (0, 0.2, 0.5, 1, 2, 3, 4, 6), (0.004, 0.0485, -0.0013), 0.0021),
    CHECKS,
)
MERCURY = RunPanel(
    "Mercury, 253.7 nm",
    "run R-0007, cold vapour, 15 January 2026",
    "line, weights 1/x · n = 8 · residual sd 0.0017",
    calibration("mercury, 253.7 nm", "µg/L", (0, 0.05, 0.1, 0.5, 1, 2, 3, 5), (0.002, 0.060), 0.002),
    CHECKS,
)


def result(  # noqa: PLR0917  columns of a table, in their order
    substance: str,
    quantity: str,
    value: str,
    expanded: str,
    unit: str,
    limit: str,
    method: str,
    **other: str,
) -> ResultRow:
    """A complying row unless said otherwise."""
    row = ResultRow(
        substance,
        quantity,
        value,
        expanded,
        unit,
        "k = 2" if expanded else "",
        limit,
        "simple",
        "complies",
        "complies",
        method,
    )
    return replace(row, **other)  # type: ignore[arg-type]


ZINC_ROW = result("Zinc", "of claim, 5.0 mg", "99.2", "2.1", "%", "90.0–110.0 %", "zinc-flame@1")
MAGNESIUM_ROW = result("Magnesium", "of claim, 25 mg", "100.7", "1.9", "%", "90.0–110.0 %", "magnesium-flame@1")
LEAD_ROW = result("Lead", "as received", "0.067", "0.020", "µg/g", "≤ 0.50 µg/g", "lead-furnace@2")
CADMIUM_ROW = result("Cadmium", "as received", "< 0.013", "", "µg/g", "≤ 0.50 µg/g", "cadmium-furnace@1")
ARSENIC_ROW = result("Arsenic", "as received", "< 0.10", "", "µg/g", "≤ 1.5 µg/g", "arsenic-hydride@1")
MERCURY_ROW = result("Mercury", "as received", "< 0.050", "", "µg/g", "≤ 3.0 µg/g", "mercury-vapour@1")

SIGNATURES = (
    SignatureParagraph(
        "Ines Falkner",
        "analyst",
        "I prepared and measured the trace elements as recorded.",
        "2026-01-16 09:12:41 +01:00 (Europe/Berlin)",
        "3fa9c01b",
    ),
    SignatureParagraph(
        "Tomas Adeyo",
        "analyst",
        "I prepared and measured zinc and magnesium as recorded.",
        "2026-01-16 09:31:07 +01:00 (Europe/Berlin)",
        "b82e90d4",
    ),
    SignatureParagraph(
        "Maren Oduya",
        "reviewer",
        "I reviewed readings, calculations and checks of all six runs.",
        "2026-01-16 14:05:55 +01:00 (Europe/Berlin)",
        "0c6d17ee",
    ),
    SignatureParagraph(
        "Jonas Lindqvist-Ferrer",
        "quality approver",
        "I approve these results and release this certificate.",
        "2026-01-19 10:22:18 +01:00 (Europe/Berlin)",
        "7e41aa52",
    ),
)

PROVENANCE = Provenance(
    ledger_id="tern-quay-5c1e",
    ledger_size="412",
    ledger_root_start="d83f05c2a1b7",
    evidence_digest=DIGEST,
    program="benchseal 0.1.0",
    calculation_rules="1",
)

UNCORRECTED = (
    "Magnesium at 285.2 nm, arsenic at 193.7 nm and mercury at 253.7 nm were measured without background correction, "
    "so whatever else absorbs there was read with them. For magnesium the method says: the solutions hold 0.04 g/L of "
    "sample, and a continuum lamp read no background in them (house finding). For arsenic the method says: only the "
    "hydride reaches the cell; what else would absorb stays in the solution. Organic and other vapours that absorb at "
    "253.7 nm would be read as mercury."
)

LOZENGE = CertificateView(
    uncorrected=UNCORRECTED,
    title="Certificate of analysis",
    number="TQ-2026-0001",
    issued_on="19 January 2026",
    laboratory=Laboratory(
        "Tern Quay Laboratory",
        ("4 Tern Quay", "27570 Seehafen"),
        "Tern Quay Laboratory, 4 Tern Quay, 27570 Seehafen",
    ),
    customer=Customer("Alder & Finch Lozenges", ("18 Mill Lane", "26121 Oldburg")),
    item=Item(
        description="mineral lozenge, declared 2.50 g",
        product="Product A",
        lot="A-1",
        sample_number="S-0001",
        customer_sample_id="AF-77120",
        received_on="8 January 2026",
        quantity_received="40 lozenges",
        measured_on="12 to 15 January 2026",
        sampling="Sampled by the customer; results apply to the sample as received.",
        condition="sealed pouch, dry, intact",
        manufacturer="Alder & Finch Lozenges",
        expiry="December 2027",
        stated_by_customer="product, lot, manufacturer, expiry, label claim and greatest daily dose (10.0 g).",
    ),
    conformity=Conformity(
        conclusion="All six results comply with the specification.",
        verdict_kind="complies",
        specification="Mineral lozenge A, version 1 (elemental limits: ICH Q3D(R2), oral, 10.0 g a day)",
        decision_rule=(
            "simple acceptance: the result, rounded to the places of the limit, is compared with the limit; "
            "the uncertainty is stated but does not move the limit."
        ),
    ),
    results=(ZINC_ROW, MAGNESIUM_ROW, LEAD_ROW, CADMIUM_ROW, ARSENIC_ROW, MERCURY_ROW),
    deviations="none",
    uncertainty=(
        "U is the expanded uncertainty with coverage factor k = 2, which gives a level of confidence of about 95 %. "
        "It covers calibration, reading scatter, volumes, masses, dilution and recovery; it does not cover sampling. "
        "“<” stands before the reporting limit of the method for this portion."
    ),
    runs=(ZINC, MAGNESIUM, CADMIUM, LEAD, ARSENIC, MERCURY),
    signatures=SIGNATURES,
    provenance=PROVENANCE,
    limits_and_cautions=(
        *standing_cautions(ENGLISH),
        "* made on another sample of the batch: shown as rule, percent and verdict, not recomputable from this file.",
    ),
)

WARE = replace(
    LOZENGE,
    number="TQ-2026-0004",
    customer=Customer("Kilnmoor Tableware", ("2 Potter Row", "26388 Hafenwerder")),
    item=replace(
        LOZENGE.item,
        description="glazed plate, flat ware, category 1",
        product="Product C",
        lot="C-1",
        sample_number="S-0012",
        customer_sample_id="KM-3",
        quantity_received="4 plates",
        condition="unbroken",
        manufacturer="",
        expiry="",
        stated_by_customer="product and lot.",
    ),
    conformity=replace(
        LOZENGE.conformity,
        conclusion="Both results comply with the specification.",
        specification="Flat ware, version 1 (limits: Directive 84/500/EEC, category 1)",
    ),
    results=(
        result("Lead", "release per area", "0.31", "0.04", "mg/dm²", "≤ 0.8 mg/dm²", "lead-ware@1"),
        result("Cadmium", "release per area", "0.022", "0.003", "mg/dm²", "≤ 0.07 mg/dm²", "cadmium-ware@1"),
    ),
    runs=(
        replace(
            LEAD,
            run="run R-0009, flame, 16 January 2026",
            fit_line="line, unweighted · n = 6 · residual sd 0.0006",
            calibration=calibration("lead, 283.3 nm", "mg/L", (0, 0.5, 1, 2, 5, 10), (0.0005, 0.0176), 0.0008),
            checks=ASSAY_CHECKS,
        ),
        replace(
            CADMIUM,
            run="run R-0010, flame, 16 January 2026",
            fit_line="line, unweighted · n = 6 · residual sd 0.0011",
            calibration=calibration("cadmium, 228.8 nm", "mg/L", (0, 0.05, 0.1, 0.2, 0.5, 1), (0.0005, 0.40), 0.0012),
            checks=ASSAY_CHECKS,
        ),
    ),
    signatures=SIGNATURES[1:],
    provenance=replace(PROVENANCE, evidence_digest="04b1" + DIGEST[4:]),
)

LONG = replace(
    LOZENGE,
    uncorrected="",
    number="TQ-2026-0107",
    customer=Customer(
        "Gesellschaft für Mineralstoffpräparate und diätetische Erzeugnisse Brückner-Østergård & Söhne",
        ("Straße der Wasserwerke 214–218, Aufgang C, 3. Obergeschoss", "26121 Oldburg an der Hunte"),
    ),
    item=replace(
        LOZENGE.item,
        description=(
            "effervescent mineral lozenge with orange and elderflower, sugar-free, declared 2.50 g, blister of 20"
        ),
        product="Mineral lozenge orange–elderflower, export pack for the Nordic countries",
        lot="AF-2025-11-30-LN-0042/B",
        condition="outer carton dented at one corner, blisters intact, dry",
        sampled_on="5 January 2026, by the customer",
        grade="food supplement",
    ),
    conformity=replace(
        LOZENGE.conformity,
        conclusion="Cadmium does not comply with the specification; the other seven results comply.",
        verdict_kind="fails",
    ),
    results=(
        ZINC_ROW,
        MAGNESIUM_ROW,
        LEAD_ROW,
        result(
            "Cadmium",
            "as received",
            "0.62",
            "0.08",
            "µg/g",
            "≤ 0.50 µg/g",
            "cadmium-furnace@1",
            verdict="does not comply",
            verdict_kind="fails",
            detail="Second portion 0.60 µg/g. Investigation INV-0003: no cause in the laboratory was found.",
        ),
        ARSENIC_ROW,
        MERCURY_ROW,
        result("Nickel", "as received", "0.41", "0.09", "µg/g", "≤ 22 µg/g", "nickel-furnace@1"),
        result("Copper", "as received", "12.7", "1.4", "µg/g", "≤ 300 µg/g", "copper-flame@1"),
    ),
    deviations="Cadmium was read again at dilution factor 10 because the undiluted digest was above the top standard.",
    runs=(*LOZENGE.runs, replace(LEAD, heading="Nickel, 232.0 nm"), replace(ZINC, heading="Copper, 324.8 nm")),
)
