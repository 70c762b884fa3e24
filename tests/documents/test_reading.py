"""Controlled documents: starters read; each defect gives its problem at its line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.problems import Problem
from benchseal.records.method import Method
from benchseal.records.shape import read_record, record_bytes

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "fixtures" / "schemas"
STARTERS = ROOT / "pipeline" / "benchseal" / "starters"


def _text(kind: str) -> str:
    return (SAMPLES / kind / "good.yaml").read_text(encoding="utf-8")


def _problems(data: bytes, source: str = "it.yaml") -> tuple[Problem, ...]:
    found = read_document(data, source)
    assert isinstance(found, tuple), "read as if it were good"
    assert all(isinstance(problem, Problem) for problem in found)
    assert found
    return found


# Those of schedule are read by schedulers.
_DOCUMENTS = sorted(
    path for path in STARTERS.glob("*/*.yaml") if path.parent.name != "schedule"
)  # files for schedulers


@pytest.mark.parametrize("path", _DOCUMENTS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_starters_are_documents(path: Path) -> None:
    found = read_document(path.read_bytes(), path.name)
    assert isinstance(found, ControlledDocument), found
    assert read_record(type(found.value), found.canonical) == found.value


@pytest.mark.parametrize(
    "path",
    sorted(
        path
        for kind in (
            "method",
            "specification",
            "layout",
            "site_rules",
            "policy",
            "certificate_form",
            "letterhead",
            "import_profile",
            "balance_layout",
            "certificate_template",
        )
        for path in (SAMPLES / kind).glob("bad-*.yaml")
    ),
    ids=lambda path: f"{path.parent.name}-{path.stem}",
)
def test_bad_samples(path: Path) -> None:
    assert _problems(path.read_bytes())[0].code.startswith("documents.")


def test_numbers_keep_their_digits_without_quotes() -> None:
    plain = read_document(_text("method").replace("'", "").encode(), "plain.yaml")
    quoted = read_document(_text("method").encode(), "quoted.yaml")
    assert isinstance(plain, tuple) or isinstance(quoted, ControlledDocument)
    unquoted = _text("method").replace("concentration: '2.5'", "concentration: 2.50")
    found = read_document(unquoted.encode(), "unquoted.yaml")
    assert isinstance(found, ControlledDocument)
    assert isinstance(found.value, Method)
    assert found.value.standards[2].concentration == "2.50"


def test_words_stay_words_and_flags_become_flags() -> None:
    """YAML 1.1 made ``no`` a flag; here only what the schema wants as a flag becomes one."""
    text = _text("method").replace("fraction: total", "fraction: no").replace("brackets: true", "brackets: false", 1)
    found = read_document(text.encode(), "m.yaml")
    assert isinstance(found, ControlledDocument)
    assert isinstance(found.value, Method)
    assert found.value.fraction == "no"
    assert (found.value.checks[1].at_end, found.value.checks[1].brackets) == (True, False)


def test_comments_and_order_do_not_change_the_canonical_bytes() -> None:
    text = _text("specification")
    moved = "# another comment\n" + text.replace("id: mineral-lozenge\n", "") + "id: mineral-lozenge\n"
    first, second = read_document(text.encode(), "a"), read_document(b"\xef\xbb\xbf" + moved.encode(), "b")
    assert isinstance(first, ControlledDocument)
    assert isinstance(second, ControlledDocument)
    assert first.canonical == second.canonical == record_bytes(first.value)


# Defect: kind of document, old text, new text, code, how many lines below the old text the problem stands.
_DEFECTS: dict[str, tuple[str, str, str, str, int | None]] = {
    "unknown kind": ("method", "kind: method", "kind: methods", "kind-unknown", 0),
    "no kind": ("method", "kind: method\n", "", "kind-unknown", None),
    "unknown technique": ("method", "technique: furnace", "technique: candle", "value-unknown", 0),
    "count with a point": ("method", "count: 2", "count: 2.0", "value-unfit", 0),
    "no replicate": ("method", "count: 2", "count: 0", "value-unfit", 0),
    "yes is not true": ("method", "at_end: true", "at_end: yes", "value-unfit", 0),
    "letter O in a number": ("method", "low: '90'", "low: 9O", "value-unfit", 0),
    "number without a figure before the point": ("method", "low: '90'", "low: .9", "value-unfit", 0),
    "underscore in a number": ("method", "low: '90'", "low: '9_0'", "value-unfit", 0),
    "element as a word": ("method", "element: Pb", "element: lead", "value-unfit", 0),
    "identifier with a blank": ("method", "id: lead-furnace", "id: Lead Furnace", "value-unfit", 0),
    "key twice": ("method", "slit_nm: '0.7'", "slit_nm: '0.7'\nslit_nm: '0.2'", "key-twice", 1),
    "misspelt key": ("method", "slit_nm: '0.7'", "slitt_nm: '0.7'", "key-unknown", 0),
    "anchor": ("method", "slit_nm: '0.7'", "slit_nm: &a '0.7'", "alias", 0),
    "alias": ("method", "slit_nm: '0.7'", "slit_nm: *a", "alias", 0),
    "tag": ("method", "slit_nm: '0.7'", "slit_nm: !!float 0.7", "tag", 0),
    "key that is a list": ("method", "slit_nm: '0.7'", "? [a]\n: b", "key-not-text", 0),
    "second document": ("method", "slit_nm: '0.7'", "slit_nm: '0.7'\n--- \na: b", "several", 1),
    "bracket left open": ("method", "slit_nm: '0.7'", "slit_nm: [", "not-yaml", None),
    "quote left open": ("method", "slit_nm: '0.7'", "slit_nm: \t'0.7", "not-yaml", None),
    "control sign": ("method", "slit_nm: '0.7'", "slit_nm: '\x01'", "not-yaml", None),
    "too deep": (
        "method",
        "file_names: [PB-FURNACE]",
        "file_names: [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]",
        "too-deep",
        0,
    ),
    "label of a standard twice": ("method", "Pb-S3", "Pb-S2", "method-name-twice", 0),
    "standards do not rise": ("method", "'5.0'}", "'2.5'}", "method-standards-not-rising", 0),
    "too few levels": ("method", "smallest_levels: 5", "smallest_levels: 8", "method-levels-few", None),
    "quadratic with five levels": ("method", "model: line", "model: quadratic", "method-quadratic-levels", 0),
    "zero without reason": ("method", "model: line", "model: line_through_zero", "method-through-zero", 0),
    "1/x at zero": ("method", "weighting: none", "weighting: 1/x", "method-weight-at-zero", 0),
    "1/x2 at zero": ("method", "weighting: none", "weighting: 1/x2", "method-weight-at-zero", 0),
    "variance function without figures": (
        "method",
        "weighting: none",
        "weighting: variance_function",
        "method-variance-missing",
        0,
    ),
    "variance function without a source": (
        "method",
        "weighting: none",
        "weighting: variance_function\n  variance_s0: '0.0004'\n  variance_k: '0.0001'",
        "method-variance-missing",
        0,
    ),
    "variance function without a constant part": (
        "method",
        "weighting: none",
        "weighting: variance_function\n  variance_s0: '0'\n  variance_k: '0.0001'\n  variance_source: own",
        "method-variance-zero",
        1,
    ),
    "variance function that does not grow": (
        "method",
        "weighting: none",
        "weighting: variance_function\n  variance_s0: '0.0004'\n  variance_k: '0.0'\n  variance_source: own",
        "method-variance-zero",
        2,
    ),
    "figures of a variance function without weights": (
        "method",
        "weighting: none",
        "weighting: none\n  variance_s0: '0.0004'",
        "method-variance-foreign",
        1,
    ),
    "source of a variance function without weights": (
        "method",
        "weighting: none",
        "weighting: none\n  variance_source: own",
        "method-variance-foreign",
        1,
    ),
    "1/s2 of two readings": (
        "method",
        "weighting: none\n  fit_on: readings",
        "weighting: 1/s2\n  fit_on: means",
        "method-weight-readings",
        0,
    ),
    "1/s2 on readings": ("method", "weighting: none", "weighting: 1/s2", "method-weight-fit-on", 1),
    "a quadratic for a line through zero": (
        "method",
        "model: line",
        "model: line_through_zero\n  quadratic_allowed: true",
        "method-quadratic-choice",
        1,
    ),
    "a quadratic for a quadratic": (
        "method",
        "model: line",
        "model: quadratic\n  quadratic_allowed: true",
        "method-quadratic-choice",
        1,
    ),
    "a choice of a quadratic with five levels": (
        "method",
        "model: line",
        "model: line\n  quadratic_allowed: true",
        "method-quadratic-levels",
        1,
    ),
    "standard error 0": (
        "method",
        "largest_error_percent: '15'",
        "largest_error_percent: '15'\n  largest_rse_percent: '0.0'",
        "method-limit-zero",
        1,
    ),
    "below the standards": ("method", "lowest_level: '1.0'", "lowest_level: 0.5", "method-lowest-level", 0),
    "above the standards": ("method", "lowest_level: '1.0'", "lowest_level: 21", "method-lowest-level", 0),
    "detection above": ("method", "detection_level: ''", "detection_level: 2", "method-detection-level", 0),
    "scatter never judged": ("method", "judged_from: '2.5'", "judged_from: 25", "method-judged-from", 0),
    "error 0": ("method", "largest_error_percent: '15'", "largest_error_percent: 0", "method-limit-zero", 0),
    "scatter 0": ("method", "largest_rsd_percent: '10'", "largest_rsd_percent: 0", "method-limit-zero", 0),
    "r above 1": ("method", "smallest_r_squared: '0.990'", "smallest_r_squared: 1.1", "method-r-squared", 0),
    "k is 0": ("method", "coverage_factor: '2'", "coverage_factor: 0", "method-coverage", 0),
    "unit of another signal": ("method", "signal_unit: A.s", "signal_unit: ug/L", "method-signal-unit", 0),
    "low equals high": ("method", "low: '90'", "low: 110", "method-check-limits", 0),
    "blank in percent": ("method", "limit_in: solution", "limit_in: percent", "method-check-limit-in", 0),
    "check id twice": ("method", "id: check-blank", "id: check-standard", "method-name-twice", 0),
    "check above the range": ("method", "expected: '10.0'", "expected: 20.1", "method-check-expected", 0),
    "check below the range": ("method", "expected: '10.0'", "expected: 0.5", "method-check-expected", 0),
    "check of nothing": ("method", "    expected: '10.0'\n    every", "    every", "method-check-expected", None),
    "file name twice": ("method", "file_names: [PB-FURNACE]", "file_names: [A, A]", "method-name-twice", 0),
    "element that does not exist": ("method", "element: Pb", "element: Xx", "method-element-unknown", 0),
    "wavelength of nothing": ("method", "wavelength_nm: '283.3'", "wavelength_nm: '0'", "method-wavelength", 0),
    "wavelength air absorbs": ("method", "wavelength_nm: '283.3'", "wavelength_nm: '184.9'", "method-wavelength", 0),
    "wavelength of no line": ("method", "wavelength_nm: '283.3'", "wavelength_nm: '900.1'", "method-wavelength", 0),
    "scatter of one reading": ("method", "count: 2", "count: 1", "method-replicates-one", 0),
    "requirement for no element": ("specification", "element: Mg", "element: Xx", "specification-element-unknown", 0),
    "limits crossed": ("specification", "lower: '90.0'", "lower: 110.0", "specification-limits", 0),
    "claim missing": ("specification", "claim_mg: '5.0'", "claim_mg: ''", "specification-claim", 0),
    "unit of another quantity": ("specification", "unit: '%'", "unit: mg/L", "specification-unit", 0),
    "fewer places than limit": ("specification", "decimals: 3", "decimals: 1", "specification-decimals", 0),
    "twice": ("specification", "element: Mg", "element: Zn", "specification-requirement-twice", 0),
    "no unit name": ("specification", "unit_name: lozenge", "unit_name: ''", "specification-unit-name", None),
    "no limit": ("specification", "upper: '0.50'", "upper: ''", "specification-rule-without-limit", None),
    "method twice": ("specification", "[lead-furnace]", "[a, a]", "specification-method-twice", 0),
    "negative limit": ("specification", "upper: '0.50'", "upper: -0.50", "specification-limit-negative", 0),
    "look-around": ("layout", "Element,(?P<element>", "Element,(?<=a)(?P<element>", "layout-pattern", 0),
    "unknown fact": ("layout", "(?P<operator>", "(?P<worker>", "layout-fact-unknown", 0),
    "element never read": ("layout", "(?P<element>", "(?:", "layout-fact-missing", None),
    "comma twice": ("layout", 'decimal_mark: "."', 'decimal_mark: ","', "layout-marks", 0),
    "date without month": ("layout", "date_form: YYYY-MM-DD", "date_form: YYYY-DD", "layout-time-form", 0),
    "time with small hours": ("layout", "HH:mm:ss", "hh:mm:ss", "layout-time-form", 0),
    "meaning twice": ("layout", "means: replicate}", "means: position}", "layout-column-twice", 0),
    "header twice": ("layout", "header: Ground", "header: Time", "layout-column-twice", None),
    "no label": ("layout", "means: label}", "means: ignored}", "layout-column-missing", None),
    "places too": ("layout", "header: Place,", "starts: 1, ends: 4, header: Place,", "layout-places", None),
    "unit without row": ("layout", "header: Place,", "unit: mg, header: Place,", "layout-units", None),
    "term": ("layout", "text: tube, means: furnace", "text: tube, means: oven", "layout-term-unknown", 0),
    "flame nobody knows": ("layout", "means: air_acetylene", "means: air", "layout-term-unknown", 0),
    "form nobody knows": ("layout", "means: peak_height", "means: top", "layout-term-unknown", 0),
    "word twice": ("layout", "{text: no-value,", "{text: above-top,", "layout-word-twice", None),
    "kind asks nothing": ("layout", "{code: rinse, means: rinse}", "{means: rinse}", "layout-kind", 0),
    "mean": ("layout", "  columns:", "  mean_rows: [{header: No, text: m}]\n  columns:", "layout-mean-row", None),
    "readings beside each other, yet numbered": (
        "layout",
        "{header: Signal, means: signal}",
        "{header: S, means: signal}\n    - {header: S2, means: signal}",
        "layout-grouping",
        None,
    ),
    "a number carried from above": (
        "layout",
        "reading_number, needed: false",
        "reading_number, carried: true",
        "layout-grouping",
        None,
    ),
    "a counter without a column": (
        "layout",
        "means: reading_number, needed: false",
        "means: ignored",
        "layout-reading-numbers",
        None,
    ),
}


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_defect_at_its_line(defect: str) -> None:
    kind, old, new, code, below = _DEFECTS[defect]
    text = _text(kind)
    assert old in text
    changed = text.replace(old, new, 1)
    found = _problems(changed.encode("utf-8", "surrogatepass"))
    hits = [problem for problem in found if problem.code == f"documents.{code}"]
    assert hits, [str(problem) for problem in found]
    if below is not None:
        line = text[: text.index(old)].count("\n") + 1 + below
        assert hits[0].where.startswith(f"it.yaml, line {line}, column "), hits[0]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        pytest.param(
            "weighting: none",
            "weighting: variance_function\n  variance_s0: '0.0004'\n  variance_k: '0.00002'\n  variance_source: own",
            id="a variance function weighs the zero standard",
        ),
        pytest.param("model: line", "model: line\n  quadratic_allowed: true", id="a choice of form"),
        pytest.param("smallest_r_squared", "largest_rse_percent: '20'\n  smallest_r_squared", id="a standard error"),
        pytest.param("weighting: none\n  fit_on: readings", "weighting: 1/s2\n  fit_on: means", id="scatter of levels"),
    ],
)
def test_calibrations_that_are_allowed(old: str, new: str) -> None:
    text = _text("method").replace("smallest_levels: 5", "smallest_levels: 6").replace("count: 2", "count: 5")
    assert old in text
    found = read_document(text.replace(old, new).encode(), "m.yaml")
    assert isinstance(found, ControlledDocument), [str(problem) for problem in found]
    assert read_record(Method, found.canonical) == found.value


def test_page_print_places_must_rise() -> None:
    text = (STARTERS / "layouts" / "page-print.yaml").read_text(encoding="utf-8").replace("starts: 7,", "starts: 4,")
    assert "documents.layout-places" in {problem.code for problem in _problems(text.encode())}


def test_all_problems_of_a_document_at_once() -> None:
    text = _text("method").replace("element: Pb", "element: lead").replace("technique: furnace", "technique: oven")
    assert [problem.code for problem in _problems(text.encode())] == [
        "documents.value-unfit",
        "documents.value-unknown",
    ]


def test_a_message_shows_both_sides_and_the_remedy() -> None:
    (problem,) = _problems(_text("method").replace("mass_g: '0.0003'", "mass_g: 0,0003").encode())
    assert problem.what == "mass_g is '0,0003'; due: plain decimal text that is not negative, for instance 0.50."
    assert problem.remedy == "Write 0.0003: the decimal mark is a point."


def test_a_negative_number_and_a_key_that_may_be_empty_have_their_own_remedies() -> None:
    (negative,) = _problems(_text("method").replace("mass_g: '0.0003'", "mass_g: '-0.0003'").encode())
    assert negative.remedy == "The number must not be negative."
    (lacking,) = _problems(_text("specification").replace("unit_name: lozenge\n", "").encode())
    assert lacking.remedy == "Add 'unit_name'; where it does not apply, write unit_name: ''."


@pytest.mark.parametrize(
    ("data", "code"),
    [
        pytest.param(b"", "documents.kind-unknown", id="nothing"),
        pytest.param(b"- a\n- b", "documents.kind-unknown", id="a list"),
        pytest.param(b"kind: [method]", "documents.kind-unknown", id="kind is a list"),
        pytest.param(b"kind: method\nid: \xff", "documents.byte-undecodable", id="not UTF-8"),
        pytest.param("kind: method".encode("utf-16"), "documents.byte-undecodable", id="UTF-16"),
        pytest.param(b"#" * (2**20 + 1), "documents.too-large", id="too large"),
        pytest.param(b"a: &a [1]\nb: &b [*a, *a]", "documents.alias", id="alias bomb"),
    ],
)
def test_not_a_document(data: bytes, code: str) -> None:
    assert _problems(data)[0].code == code


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    assert isinstance(read_document(data, "x"), ControlledDocument | tuple)


@given(st.data(), st.sampled_from(["method", "specification", "layout"]))
def test_a_mutated_document_is_read_or_refused(data: st.DataObject, kind: str) -> None:
    good = _text(kind).encode()
    at = data.draw(st.integers(0, len(good)))
    cut = data.draw(st.integers(0, 40))
    put = data.draw(
        st.binary(max_size=6) | st.sampled_from([b": ", b"- ", b"{", b"]", b"&x ", b"*x", b"|\n", b"\t", b"? "])
    )
    found = read_document(good[:at] + put + good[at + cut :], "x")
    assert isinstance(found, ControlledDocument) or all(isinstance(problem, Problem) for problem in found)


PROFILE = (ROOT / "fixtures" / "schemas" / "profile" / "good.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("{title: SAMPLE, field: client_sample_id,", "{title: SAMPLE, field: client_sample_id, of: pb,",
         "of is 'pb'; due: an element, as Pb, or those of a sum with blanks between, as Pb Cd."),
        ("map: {new: N,", "map: {é: N,", "a key of map is 'é'; due: letters, figures and signs of ASCII."),
        ("{title: CHANGE, field: change_kind,", "{title: CHANGE, field: change_kind, fixed: x,",
         "columns no. 3 has 'field' and 'fixed'; due: 'field' or 'fixed'."),
        ("{title: CHANGE, field: change_kind,", "{title: CHANGE,",
         "columns no. 3 has neither; due: 'field' or 'fixed'."),
        ("beside: [", "beside: [signature, ", "beside holds 'signature' twice."),
        ("title: CHANGE", "title: ''", "title is ''; due: text of at least 1 sign."),
    ],
)  # fmt: skip
def test_a_value_that_does_not_fit_says_what_would(old: str, new: str, what: str) -> None:
    assert old in PROFILE
    found = read_document(PROFILE.replace(old, new, 1).encode(), "p.yaml")
    assert isinstance(found, tuple)
    assert what in [problem.what for problem in found]
