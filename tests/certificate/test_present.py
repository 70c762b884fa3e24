"""From evidence to the view: every text from the record, in the words of the certificate. Invented figures."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.verify.making import Made, make

from benchseal.certificate.conclude import COMPLIES, FAILS, NO_LIMITS, NOT_ALL, conclusion_for, line_names
from benchseal.certificate.issue import draft_problems
from benchseal.certificate.language import ENGLISH, Words
from benchseal.certificate.present import result_row, view_of, with_printed
from benchseal.certificate.present_runs import check_lines, fit_line, picture, run_panel
from benchseal.certificate.present_words import conformity, decision_rule, uncertainty, uncorrected
from benchseal.certificate.render import page_html
from benchseal.certificate.view import printed_tokens, standing_cautions
from benchseal.records.printed_form import PrintedForm
from benchseal.records.results import BelowLimit, Contribution, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.evidence import CertificateFacts, Evidence
    from benchseal.records.registers import Sample
    from benchseal.records.results import Verdict, WorkedResult


@pytest.fixture(scope="module")
def made() -> Made:
    return make()


@pytest.fixture(scope="module")
def lead(made: Made) -> WorkedResult:
    return made.evidence.results[0].result


def test_texts_of_results_are_the_records_own(made: Made) -> None:
    for basis, row in zip(made.evidence.results, made.view().results, strict=True):
        outcome = basis.result.outcome
        assert not isinstance(outcome, NotReportable)
        assert row.value.replace("< ", "<") == outcome.value_text
        assert row.expanded == (outcome.expanded_text if isinstance(outcome, Quantified) else "")


def test_a_measured_value_is_one_phrase(made: Made) -> None:
    lead, cadmium = made.view().results
    assert lead.phrase == "0.249 ± 0.031 µg/g (k = 2)"
    assert (lead.substance, lead.quantity, lead.limit) == ("Lead", "total, as received", "not more than 0.50")
    assert (lead.verdict, lead.method) == ("complies", "pb-furnace@2")
    assert lead.detail == "Portions 0.250 and 0.248 µg/g"
    assert (cadmium.phrase, cadmium.detail) == ("< 0.050 µg/g", "Below the detection limit 0.015 µg/g too")


def test_between_both_limits_a_value_is_detected_and_has_no_number(made: Made) -> None:
    """Cadmium of the lozenge: quantification limit 0.050, detection limit 0.015, both µg/g."""
    cadmium = made.evidence.results[1].result
    assert isinstance(cadmium.outcome, BelowLimit)
    words = {
        "0.0151": "Detected, above the detection limit 0.015 µg/g",
        "0.0150": "Detected, above the detection limit 0.015 µg/g",
        "0.0149": "Below the detection limit 0.015 µg/g too",
        "-0.002": "Below the detection limit 0.015 µg/g too",
    }
    for value, due in words.items():
        found = replace(cadmium, detection_limit="0.0150", outcome=replace(cadmium.outcome, value=value))
        row = result_row(found, made.evidence.specification)
        assert (row.phrase, row.detail) == ("< 0.050 µg/g", due)
    silent = replace(cadmium, detection_limit="")
    assert result_row(silent, made.evidence.specification).detail == ""


def test_a_certificate_says_that_no_value_is_corrected_for_recovery(made: Made) -> None:
    assert made.view().uncertainty.endswith("No value is corrected for recovery.")


def test_printed_tokens_are_those_of_the_rows(made: Made) -> None:
    bare = replace(made.evidence, printed=())
    assert with_printed(bare).printed == made.evidence.printed
    assert [one.tokens for one in made.evidence.printed] == [printed_tokens(row) for row in made.view().results]


@pytest.mark.parametrize(
    ("asked", "quantity_words", "limit_words"),
    [
        pytest.param(
            {"quantity": "percent_of_claim", "claim_mg": "5.0"},
            "of claim, 5.0 mg",
            "90.0 to 110.0 % of claim",
            id="of the claim",
        ),
        pytest.param({"quantity": "amount_per_unit"}, "total, per lozenge", "90.0 to 110.0", id="in one unit"),
        pytest.param({"quantity": "release_per_area"}, "released per area", "90.0 to 110.0", id="by area"),
        pytest.param({"quantity": "concentration"}, "total, as received", "90.0 to 110.0", id="in a liquid"),
        pytest.param(
            {"quantity": "content", "basis": "dry"},
            "total, mass fraction, on dry basis",
            "90.0 to 110.0",
            id="dry, in percent",
        ),
        pytest.param(
            {"quantity": "amount_per_unit", "expressed_as": "PbO"},
            "total, per lozenge, as PbO",
            "90.0 to 110.0",
            id="as a substance in one unit",
        ),
        pytest.param(
            {"quantity": "release_per_area", "expressed_as": "PbO"},
            "released per area, as PbO",
            "90.0 to 110.0",
            id="as a substance by area",
        ),
    ],
)
def test_quantities_in_words(
    made: Made, lead: WorkedResult, asked: dict[str, Any], quantity_words: str, limit_words: str
) -> None:
    specification = made.evidence.specification
    lines = (replace(specification.requirements[0], **asked),)
    of = {name: asked[name] for name in ("quantity", "basis", "expressed_as") if name in asked}
    result = replace(lead, **of, unit="%", lower="90.0", upper="110.0")
    row = result_row(result, replace(specification, requirements=lines))
    assert (row.quantity, row.limit) == (quantity_words, limit_words)


def test_without_a_limit_the_row_says_so(made: Made, lead: WorkedResult) -> None:
    row = result_row(replace(lead, lower="", upper="", verdict="none"), made.evidence.specification)
    assert (row.limit, row.rule, row.verdict, row.verdict_kind) == ("\N{EN DASH}", "no limit", "not judged", "open")


def test_a_lost_portion_is_said_with_its_reason(made: Made, lead: WorkedResult) -> None:
    lost = replace(lead.portions[1], position=0, value="", why="not determined: spilled")
    row = result_row(replace(lead, portions=(lead.portions[0], lost)), made.evidence.specification)
    assert row.detail == "Portion T-A1/2: not determined: spilled"


def test_a_result_nobody_asked_for_and_one_without_value_are_refused(made: Made, lead: WorkedResult) -> None:
    specification = made.evidence.specification
    with pytest.raises(ValueError, match="0 lines"):
        result_row(replace(lead, element="Ni"), specification)
    with pytest.raises(ValueError, match="no value"):
        result_row(replace(lead, outcome=NotReportable("not_reportable", "x", "lost")), specification)


def _with(lead: WorkedResult, verdicts: Sequence[tuple[str, Any]]) -> list[WorkedResult]:
    return [replace(lead, element=element, verdict=verdict) for element, verdict in verdicts]


@pytest.mark.parametrize(
    ("verdicts", "sentence", "kind"),
    [
        ([("Pb", "pass")], "The result complies with the specification.", "complies"),
        ([("Pb", "pass"), ("Cd", "pass")], "Both results comply with the specification.", "complies"),
        ([("Pb", "pass")] * 3, "All three results comply with the specification.", "complies"),
        (
            [("Cd", "fail"), ("Pb", "pass")],
            "Cadmium does not comply with the specification; lead complies with the specification.",
            "fails",
        ),
        (
            [("Cd", "fail"), ("As", "conditional fail"), ("Pb", "pass"), ("Hg", "pass")],
            "Cadmium and arsenic do not comply with the specification; lead and mercury comply with the specification.",
            "fails",
        ),
        ([("Pb", "conditional pass")], "Lead complies conditionally.", "open"),
        (
            [("Pb", "pass"), ("Ni", "none")],
            "Lead complies with the specification; no statement of conformity is made for nickel.",
            "open",
        ),
    ],
)
def test_the_conclusion_in_one_sentence(
    lead: WorkedResult, verdicts: list[tuple[str, str]], sentence: str, kind: str
) -> None:
    results = _with(lead, verdicts)
    assert conformity(results) == (sentence, kind)
    assert conclusion_for(results) == {"fails": FAILS, "complies": COMPLIES, "open": NOT_ALL}[kind]


AS_RECEIVED: dict[str, Any] = {"element": "Ca"}
DRY: dict[str, Any] = {"element": "Ca", "basis": "dry"}
AS_CARBONATE: dict[str, Any] = {"element": "Ca", "basis": "dry", "expressed_as": "CaCO3"}
IN_UNIT: dict[str, Any] = {"element": "Ca", "quantity": "amount_per_unit"}
INFORMATION: dict[str, Any] = {"lower": "", "upper": "", "verdict": "none"}


@pytest.mark.parametrize(
    ("changes", "sentence", "recorded"),
    [
        pytest.param(
            [AS_RECEIVED | {"verdict": "fail"}, AS_CARBONATE | {"verdict": "pass"}, DRY | {"verdict": "none"}],
            "Calcium as received does not comply with the specification; "
            "calcium, dry, as CaCO3, complies with the specification; "
            "no statement of conformity is made for calcium, dry.",
            FAILS,
            id="each line by its name",
        ),
        pytest.param(
            [AS_RECEIVED | {"verdict": "pass"}, AS_CARBONATE | {"verdict": "pass"}, DRY | {"verdict": "fail"}],
            "Calcium, dry, does not comply with the specification; "
            "calcium as received and calcium, dry, as CaCO3, comply with the specification.",
            FAILS,
            id="two lines of one element are several",
        ),
        pytest.param(
            [AS_RECEIVED | {"verdict": "conditional pass"}, IN_UNIT | {"verdict": "pass"}],
            "Calcium, amount per unit, complies with the specification; calcium, content, complies conditionally.",
            NOT_ALL,
            id="told apart by quantity",
        ),
        pytest.param(
            [{"verdict": "pass"}, AS_RECEIVED | {"verdict": "pass"}, {"element": "Ni"} | INFORMATION],
            "Both results with a limit comply with the specification; no limit is specified for nickel.",
            COMPLIES,
            id="a line for information does not count",
        ),
        pytest.param(
            [{"verdict": "pass"}, {"element": "Ni"} | INFORMATION],
            "The result with a limit complies with the specification; no limit is specified for nickel.",
            COMPLIES,
            id="one line with a limit",
        ),
        pytest.param(
            [AS_RECEIVED | {"verdict": "fail"}, AS_CARBONATE | INFORMATION],
            "Calcium as received does not comply with the specification; "
            "no limit is specified for calcium, dry, as CaCO3.",
            FAILS,
            id="fails beside one for information",
        ),
        pytest.param(
            [INFORMATION, AS_RECEIVED | INFORMATION],
            "No limits are specified; no statement of conformity is made.",
            NO_LIMITS,
            id="no line has a limit",
        ),
    ],
)
def test_lines_are_named_and_those_without_a_limit_do_not_count(
    lead: WorkedResult, changes: list[dict[str, Any]], sentence: str, recorded: str
) -> None:
    results = [replace(lead, **one) for one in changes]
    assert conformity(results)[0] == sentence
    assert conclusion_for(results) == recorded


GERMAN = Words(PrintedForm("de", ",", "", "d. MMMM y"))
MANY = ("Zn", "Mg", "Cd", "As", "Hg", "Ni", "Cu", "Fe", "Se", "Sb", "Al", "K", "Ca", "Cr")


def test_a_handful_of_lines_is_named_and_more_are_counted(lead: WorkedResult) -> None:
    without = [replace(lead, element=element, **INFORMATION) for element in MANY]
    said, _ = conformity([lead, *without[:6]])
    assert said == (
        "The result with a limit complies with the specification; no limit is specified for zinc, magnesium, cadmium, "
        "arsenic, mercury and nickel."
    )
    said, kind = conformity([lead, *without[:7]])
    assert kind == "complies"
    assert said == (
        "The result with a limit complies with the specification; no limit is specified for seven results; which they "
        "are, the table says in each row."
    )
    assert conformity([lead, *without], GERMAN)[0] == (
        "Das Ergebnis mit Grenzwert entspricht der Spezifikation; für 14 Ergebnisse ist kein Grenzwert festgelegt; "
        "welche es sind, sagt die Tabelle in jeder Zeile."
    )


@pytest.mark.parametrize(
    ("verdict", "said"),
    [
        ("fail", "14 results do not comply with the specification; lead complies with the specification"),
        ("conditional pass", "Lead complies with the specification; 14 results comply conditionally"),
        ("none", "Lead complies with the specification; no statement of conformity is made for 14 results"),
    ],
)
def test_what_is_counted_keeps_its_verdict(lead: WorkedResult, verdict: Verdict, said: str) -> None:
    results = [lead, *(replace(lead, element=element, verdict=verdict) for element in MANY)]
    assert conformity(results)[0] == f"{said}; which they are, the table says in each row."
    assert conformity(results, GERMAN)[0].endswith("; welche es sind, sagt die Tabelle in jeder Zeile.")


def test_rules_of_many_lines_are_counted_by_the_word_of_their_row(lead: WorkedResult) -> None:
    many = [replace(lead, element=element, rule="guarded") for element in MANY]
    said = decision_rule([lead, *many])
    assert said.startswith("Lead: simple acceptance")
    assert " 14 results, in the table with “guarded”: guarded acceptance" in said
    german = decision_rule([lead, *many], GERMAN)
    assert " 14 Ergebnisse, in der Tabelle mit „mit Schutzabstand“: " in german
    portions = tuple(replace(one, verdict="pass") for one in lead.portions)
    single = [replace(one, portions=portions) for one in many]
    assert "Each portion of the 14 results whose rows name a limit of single portions" in decision_rule(single)
    assert "Bei den 14 Ergebnissen" in decision_rule(single, GERMAN)


@pytest.mark.parametrize("wording", [3, 4])
def test_earlier_forms_name_every_line(lead: WorkedResult, wording: int) -> None:
    """Their pages are sealed; what follows from their evidence is what they say."""
    without = [replace(lead, element=element, **INFORMATION) for element in MANY]
    said, _ = conformity([lead, *without], wording=wording)
    assert said.endswith("no limit is specified for " + ENGLISH.listed([ENGLISH.element(one) for one in MANY]) + ".")
    many = [replace(lead, element=element, rule="guarded") for element in MANY]
    assert "14 results" not in decision_rule([lead, *many], wording=wording)


def test_an_element_on_one_line_is_called_by_its_name_alone(lead: WorkedResult) -> None:
    dry = replace(lead, basis="dry", expressed_as="PbO")
    assert line_names([dry], [dry, replace(lead, element="Cd")]) == ["lead"]
    assert line_names([dry], [dry, lead]) == ["lead, dry, as PbO"]


def test_rules_name_the_lines_of_one_element_once(lead: WorkedResult) -> None:
    calcium = replace(lead, **AS_RECEIVED)
    said = decision_rule([calcium, replace(lead, **AS_CARBONATE, rule="guarded"), replace(calcium, basis="dry"), lead])
    assert said.startswith("Calcium as received and calcium, dry and lead: simple acceptance")
    assert ". Calcium, dry, as CaCO3: guarded acceptance" in said
    assert "Calcium:" not in said


def test_what_u_covers_reads_as_terms_though_a_name_holds_a_comma(lead: WorkedResult) -> None:
    terms = tuple(Contribution(name, "0.01", "50") for name in ("method blank, reading noise", "standard lot"))
    said = uncertainty([replace(lead, contributions=terms)])
    assert "It covers: method blank, reading noise; standard lot. It does not cover sampling." in said


@pytest.mark.parametrize(
    ("weighting", "words"),
    [
        ("none", "line, unweighted · n = 7 · residual sd 0.0021 A·s"),
        ("1/x", "line, weights 1/x · n = 7 · weighted residual sd 0.0021"),
        ("1/s2", "line, weights 1/s² · n = 7 · weighted residual sd 0.0021"),
        ("variance_function", "line, weights by a variance function · n = 7 · weighted residual sd 0.0021"),
    ],
)
def test_only_an_unweighted_residual_sd_has_the_unit_of_the_signal(made: Made, weighting: str, words: str) -> None:
    of = replace(made.evidence.runs[0].calibration, model="line", n=7, residual_sd="0.00213", signal_unit="A.s")
    assert fit_line(replace(of, weighting=weighting)) == words


def test_blanks_keep_their_sign_and_have_their_unit(made: Made) -> None:
    run = made.evidence.runs[0]
    blank = next(check for check in run.checks if check.check == "check_blank")
    found = [replace(blank, found=text) for text in ("-0.0123456", "-0.312", "-0.04")]
    (line,) = check_lines(replace(run, checks=tuple(found)))
    assert (line.found, line.limits) == ("\N{MINUS SIGN}0.312 to \N{MINUS SIGN}0.0123 µg/L", "±0.5 µg/L")


def test_a_limit_from_a_daily_exposure_says_so_under_its_row(made: Made, lead: WorkedResult) -> None:
    specification = made.evidence.specification
    exposure = replace(specification.requirements[0], pde_ug_per_day="5", daily_dose_g="10.0", route="oral")
    row = result_row(lead, replace(specification, requirements=(exposure,)))
    words = "limit from: permitted daily exposure (PDE) 5 µg/day, oral; daily dose 10.0 g"
    assert row.detail == f"Portions 0.250 and 0.248 µg/g; {words}"
    alone = result_row(replace(lead, portions=lead.portions[:1]), replace(specification, requirements=(exposure,)))
    assert alone.detail == f"L{words[1:]}"


def test_several_rules_name_whom_they_are_for(lead: WorkedResult) -> None:
    results = [replace(lead, rule="pharma", element="Zn"), lead, replace(lead, element="Cd")]
    said = decision_rule(results)
    assert said.startswith("Zinc: the result is rounded once")
    assert "Lead and cadmium: simple acceptance" in said
    assert decision_rule([replace(lead, upper="")]) == "none: the specification sets no limit."


@pytest.mark.clause("17025 7.8.3")
def test_uncertainty_says_what_it_covers(made: Made, lead: WorkedResult) -> None:
    said = uncertainty([basis.result for basis in made.evidence.results])
    assert "coverage factor k = 2, which gives a level of confidence of about 95 %" in said
    for contribution in lead.contributions:
        assert contribution.name in said
    assert "“<” stands before the quantification limit" in said
    assert "“<”" not in uncertainty([lead])
    outcome = lead.outcome
    assert isinstance(outcome, Quantified)
    assert "as stated beside it" in uncertainty([lead, replace(lead, outcome=replace(outcome, k="2.2"))])
    validated = replace(lead, contributions=(Contribution("validated uncertainty", "0.01", "100"),))
    assert "It covers: what validation of the method found. It does not cover sampling." in uncertainty([validated])


def test_a_method_without_background_correction_is_said(made: Made) -> None:
    first, second = made.evidence.runs
    assert made.view().uncorrected == "", "both methods correct"
    bare = replace(first.method, background_correction="none", uncorrected_because="clean solutions.")
    told = replace(made.evidence, runs=(replace(first, method=bare), second))
    assert view_of(told, release=None, checkpoint=None, evidence_digest="").uncorrected == (
        "Lead at 283.3 nm was measured without background correction, so whatever else absorbs there was read with it. "
        "For lead the method says: clean solutions."
    )
    mercury = replace(bare, element="Hg", wavelength_nm="253.7", technique="cold_vapour", uncorrected_because="")
    assert uncorrected([bare, mercury, bare]) == (
        "Lead at 283.3 nm and mercury at 253.7 nm were measured without background correction, so whatever else "
        "absorbs there was read with them. For lead the method says: clean solutions. "
        "Organic and other vapours that absorb at 253.7 nm would be read as mercury."
    )
    assert uncorrected([replace(mercury, background_correction="deuterium")]) == ""


@pytest.mark.clause("P11 11.50(a)")
def test_signature_paragraphs_say_who_did_what(made: Made) -> None:
    people = made.view().signatures
    assert [one.role for one in people] == ["analyst", "reviewer", "quality approver", "quality approver"]
    assert people[0].meaning.startswith("I measured runs R-00001 and R-00002 as recorded.")
    assert people[-1].meaning == "I release these results to the customer."
    assert people[0].digest_start == made.evidence.signatures[0].signature[:8]


def test_checks_of_the_run_are_lines(made: Made) -> None:
    lines = {line.check: line for line in check_lines(made.evidence.runs[0])}
    assert (lines["check standard, 2"].found, lines["check standard, 2"].limits) == ("100 to 101 %", "90 to 110 %")
    assert lines["check blank, 2"].limits == "±0.5 µg/L"
    assert lines["calibration"].verdict == "met"


def test_checks_on_another_sample_are_marked(made: Made) -> None:
    names = [line.check for line in check_lines(made.evidence.runs[0])]
    assert "spike recovery*" in names
    assert [name for name in names if name.startswith("portions")] == ["portions, of limit"]
    cautions = made.view().limits_and_cautions
    assert cautions[:3] == standing_cautions(ENGLISH)
    assert cautions[3].startswith("* made on another sample")
    assert not any("*" in line.check for line in check_lines(made.evidence.runs[1]))


def test_failed_checks_are_counted_and_explained(made: Made) -> None:
    evidence = made.evidence
    first = evidence.runs[0]
    places = [at for at, check in enumerate(first.checks) if check.check == "check_standard"]
    checks = list(first.checks)
    checks[places[0]] = replace(checks[places[0]], verdict="fail", found="87.1")
    told = replace(evidence, runs=(replace(first, checks=tuple(checks)), *evidence.runs[1:]))
    line = next(line for line in run_panel(told.runs[0], "UTC").checks if line.check.startswith("check standard"))
    assert (line.found, line.verdict, line.verdict_kind) == ("87.1 to 101 % (1 of 2)", "not met", "fails")
    view = view_of(told, release=None, checkpoint=None, evidence_digest="0" * 64)
    assert any("none of the readings it brackets was used" in text for text in view.limits_and_cautions)


def test_a_check_that_was_not_read_or_not_judged_never_counts_as_met(made: Made) -> None:
    run = made.evidence.runs[0]
    blank = next(check for check in run.checks if check.check == "method_blank")
    unread = replace(blank, positions=(), found="", verdict="not_evaluated")
    unjudged = replace(blank, found="", verdict="not_evaluated")
    for check, word in ((unread, "not read"), (unjudged, "not judged")):
        (line,) = check_lines(replace(run, checks=(check,)))
        assert (line.found, line.verdict, line.verdict_kind) == (word, "\N{EN DASH}", "open")
    (line,) = check_lines(replace(run, checks=(blank, unjudged)))
    assert (line.found, line.verdict_kind) == ("0.0441 µg/L, 1 not judged", "open")


def test_the_picture_draws_the_records_curve(made: Made) -> None:
    calibration = made.evidence.runs[0].calibration
    drawn = picture(made.evidence.runs[0])
    assert [str(one.x) for one in drawn.standards][:3] == ["0.0", "1.0", "2.5"]
    assert drawn.fitted(10.0) == pytest.approx(
        float(calibration.coefficients[0]) + 10.0 * float(calibration.coefficients[1])
    )
    middle = drawn.band[len(drawn.band) // 2]
    assert middle.low < drawn.fitted(middle.x) < middle.high
    assert drawn.band[0].high - drawn.band[0].low > middle.high - middle.low


def test_a_line_through_zero_and_a_parabola_are_drawn_too(made: Made) -> None:
    run = made.evidence.runs[0]
    through_zero = replace(
        run.calibration, model="line_through_zero", coefficients=("0.003",), covariance=(("0.00000001",),)
    )
    zero = picture(replace(run, calibration=through_zero))
    assert (zero.coefficients, zero.fitted(0.0), zero.band[0].high) == ((0.0, 0.003), 0.0, 0.0)
    bent = replace(
        run.calibration,
        model="quadratic",
        coefficients=("0.001", "0.003", "-0.00001"),
        covariance=(("0.00000001", "0", "0"),) * 3,
    )
    assert len(picture(replace(run, calibration=bent)).coefficients) == 3


def test_concentrations_of_the_instrument_have_no_picture(made: Made) -> None:
    run = made.evidence.runs[0]
    panel = run_panel(replace(run, method=replace(run.method, signal_is="instrument_concentration")), "UTC")
    assert (panel.calibration, panel.fit_line) == (None, ENGLISH.say("curve/elsewhere"))


def _facts(evidence: Evidence, **changes: object) -> Evidence:
    return replace(evidence, certificate=replace(evidence.certificate, **changes))  # type: ignore[arg-type]


def _sampled_by(facts: CertificateFacts, name: str) -> Sample:
    return replace(facts.sample, row=replace(facts.sample.row, sampled_by=name))


@pytest.mark.clause("17025 7.8.2.2")
@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("alder", "Sampled by the customer; the results apply to the sample as received."),
        ("Harbour Control", "Sampled by Harbour Control; the results apply to the sample as received."),
        ("Tern Quay Laboratory", "Sampled by the laboratory."),
        ("", "Who sampled is not on record; the results apply to the sample as received."),
    ],
)
def test_who_sampled(made: Made, name: str, words: str) -> None:
    told = _facts(made.evidence, sample=_sampled_by(made.evidence.certificate, name))
    view = view_of(told, release=None, checkpoint=None, evidence_digest="")
    assert view.item.sampling == words


@pytest.mark.clause("17025 7.8.2.2")
@pytest.mark.parametrize(
    ("dates", "words"),
    [
        pytest.param({}, "product, lot, designation of the sample and date of sampling", id="what is always theirs"),
        pytest.param({"sampled_on": ""}, "product, lot and designation of the sample", id="no date of sampling"),
        pytest.param(
            {"sampled_on": "", "expires_on": "2028-02-29"},
            "product, lot, designation of the sample and expiry",
            id="the expiry of the lot",
        ),
    ],
)
def test_what_the_customer_states_is_told_apart(made: Made, dates: dict[str, str], words: str) -> None:
    sample = made.evidence.certificate.sample
    told = _facts(made.evidence, sample=replace(sample, row=replace(sample.row, **dates)))
    item = view_of(told, release=None, checkpoint=None, evidence_digest="").item
    assert item.stated_by_customer == words
    assert item.expiry == ("29 February 2028" if "expires_on" in dates else "")


def test_an_amendment_names_what_it_replaces(made: Made) -> None:
    told = _facts(made.evidence, kind="amendment", replaces="C-2026-00003", reason="mass of one portion corrected")
    view = view_of(told, release=None, checkpoint=None, evidence_digest="")
    assert view.relation is not None
    assert view.relation.words == "Amends and replaces certificate C-2026-00003: mass of one portion corrected."


def test_comments_and_deviations_are_printed(made: Made) -> None:
    told = _facts(made.evidence, comments=("weighed and kept",), deviations=("read at dilution 10",))
    view = view_of(told, release=None, checkpoint=None, evidence_digest="")
    assert (view.notes, view.deviations) == (("Comment: weighed and kept",), "read at dilution 10")


def test_a_draft_says_so_and_lists_what_is_lacking(made: Made) -> None:
    assert draft_problems(made.evidence) == ()
    row = replace(made.evidence.certificate.sample.row, description="", quantity_received="")
    sample = replace(made.evidence.certificate.sample, row=row)
    problems = draft_problems(_facts(made.evidence, sample=sample))
    assert {problem.where for problem in problems} == {"item.description", "item.quantity_received"}
    draft = view_of(made.evidence, release=None, checkpoint=None, evidence_digest="", draft=True)
    assert (draft.unsealed_mark, draft.issued_on) == ("DRAFT", "")
    assert "Ledger" not in page_html(draft), "its head is known with the release"
    assert "Ledger" in page_html(made.view())


def test_a_draft_without_a_value_is_a_problem_not_a_traceback(made: Made) -> None:
    basis = made.evidence.results[0]
    lost = replace(basis.result, outcome=NotReportable("not_reportable", "x", "the tube broke"))
    told = replace(made.evidence, results=(replace(basis, result=lost),))
    (problem,) = draft_problems(told)
    assert "the tube broke" in problem.what
