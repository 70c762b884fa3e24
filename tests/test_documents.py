"""Documents against the program: commands, codes, schemas, samples, links, examples, and words that must not stand.

Codes are collected from the source: constants given to a ``Problem``, ``Refusal``, ``Trouble``, ``Finding``, ``Fault``,
``Loss`` or ``NotReportable``; calls of helpers that put a prefix before one of their parameters; other constants given
to calls and written like codes. What is composed otherwise stands in ``COMPOSED``; tests hold that list to the source.
"""

from __future__ import annotations

import ast
import json
import re
from collections import defaultdict
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from jsonschema import Draft202012Validator

from benchseal.cli.table import COMMANDS
from benchseal.compute.calc import answer
from benchseal.compute.calc_answer import _WORDS
from benchseal.compute.calc_request import KINDS, problems_of
from benchseal.problems import Problem
from benchseal.review.cycles import CYCLES
from benchseal.store.project import known_kinds

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "pipeline" / "benchseal"
MANUAL = ROOT / "docs" / "manual"
SCHEMAS = ROOT / "schemas"
SAMPLES = ROOT / "fixtures" / "schemas"
DOCUMENTS = sorted([*(ROOT / "docs").rglob("*.md"), *ROOT.glob("*.md")])
NAMES = sorted(
    path.relative_to(SCHEMAS).as_posix().removesuffix(".schema.json") for path in SCHEMAS.rglob("*.schema.json")
)

CODE = re.compile(r"[a-z][a-z0-9-]*\.[a-z][a-z0-9-]*")
PREFIX = re.compile(r"[a-z]+\.[a-z-]*")
CARRIERS = {"Problem", "Refusal", "Trouble", "Finding", "Fault", "Loss", "NotReportable"}
READS_A_FILE = {"template", "template_bytes", "starter"}  # their argument names a shipped file

# Codes that no single call spells out.
PROFILE_RULES = ("profiles.py", "distinctions.py", "maps.py", "told_beside.py")
COMPOSED: frozenset[str] = frozenset(
    {f"{cycle.name}.wrong-state" for cycle in CYCLES}
    | {"seal.missing", "seal.several"}  # one of two, by what was found
    | {"bracket.failed", "bracket.open", "bracket.too-long", "carry-over.failed"}  # returned with their words
    | {"portions.disagree", "dilution.disagrees", "acid.differs"}  # by the kind of check
    | {f"{name}.already" for name in ("customer", "instrument", "lot")}
    | {f"calc.{word.replace('_', '-')}" for word in _WORDS}
    | {
        f"validate.{name}-differs"
        for name in (
            "background-correction", "element", "flame", "injection", "signal-form", "signal-is", "signal-unit", "slit",
            "technique", "wavelength-nm",
        )
    }
    # ``documents.`` before the code of a row's rule; the modules ``ROW_RULES`` name them.
    | {
        f"documents.{code}"
        for code in (
            "amount-unlikely", "amount-zero", "amount-zeros", "cell-empty", "date-early", "date-impossible",
            "date-order", "element-unknown", "plan-no-sample", "portion-acid", "portion-additions-few",
            "portion-additions-kind", "portion-additions-label", "portion-additions-order", "portion-cell-foreign",
            "portion-dilution",
            "portion-element-foreign", "portion-element-twice", "portion-expected", "portion-mass-and-area",
            "portion-masses-apart",
            "portion-moisture", "portion-sample", "portion-spike", "portion-unit-mass", "row-twice",
            "uncertainty-large", "uncertainty-zero", "zone-unknown",
        )
    }
    # Columns of an import profile give their codes as tuples.
    | {
        f"documents.import-{code}"
        for code in (
            "column-use", "date-form", "field-unknown", "missing-text", "title-missing", "width",
        )
    }
    # Columns of a profile give their codes as tuples; ``PROFILE_RULES`` name them.
    | {
        f"profile.{code}"
        for code in (
            "element-not-shown", "fixed-misleads", "title-misleads",
            "counter-unfit", "date-form", "flag-misleads", "flag-unfit", "flag-word-unknown", "form-unfit",
            "map-merges", "map-misleads", "map-of-name", "map-of-value", "missing-text-misleads",
            "missing-text-unfit", "of-missing", "of-unfit", "offset-not-shown",
            "unit-not-shown", "unit-unfit", "zone-unknown",
        )
    }
)  # fmt: skip


ROW_RULES = (
    "rules_sheets.py", "rules_amounts.py", "rules_kinds.py", "rules_additions.py", "rules_plan_sheet.py",
    "rules_import_profile.py",
)  # fmt: skip

# Families whose codes stand whole in one module, though no call spells them.
WHOLE = {
    **dict.fromkeys(("bracket", "carry-over"), "run_brackets.py"),
    **dict.fromkeys(("portions", "dilution", "acid"), "run_verdict.py"),
}


# ------------------------------------------------------------------ the codes of the source


@cache
def trees() -> dict[Path, ast.Module]:
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}


def called(call: ast.Call) -> str:
    return getattr(call.func, "id", getattr(call.func, "attr", ""))


def given(call: ast.Call) -> list[ast.expr]:
    return [*call.args, *(keyword.value for keyword in call.keywords)]


def text_of(node: ast.expr) -> str:
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def prefixed(node: ast.expr) -> tuple[str, str] | None:
    """Prefix and name of ``f"prefix{name}"``."""
    match node:
        case ast.JoinedStr(values=[ast.Constant(value=str(prefix)), ast.FormattedValue(value=ast.Name(id=name))]):
            return prefix, name
        case _:
            return None


def helpers(tree: ast.Module) -> dict[str, tuple[str, int, str]]:
    """Functions that put a prefix before a parameter in a carrier: name to prefix, place and name of the parameter."""
    found: dict[str, tuple[str, int, str]] = {}
    for function in (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)):
        parameters = [one.arg for one in (*function.args.posonlyargs, *function.args.args) if one.arg != "self"]
        for call in (node for node in ast.walk(function) if isinstance(node, ast.Call) and called(node) in CARRIERS):
            for prefix, name in filter(None, map(prefixed, given(call))):
                if name in parameters and PREFIX.fullmatch(prefix):
                    found[function.name] = (prefix, parameters.index(name), name)
    return found


@cache
def all_helpers() -> dict[Path, dict[str, tuple[str, int, str]]]:
    """Each module's own helpers and those it imports by name."""
    own = {path: helpers(tree) for path, tree in trees().items()}
    found = {path: dict(table) for path, table in own.items()}
    for path, tree in trees().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("benchseal."):
                home = PACKAGE.parent / f"{(node.module or '').replace('.', '/')}.py"
                found[path].update(
                    {
                        name.asname or name.name: own[home][name.name]
                        for name in node.names
                        if name.name in own.get(home, {})
                    }
                )
    return found


def spelled(path: Path, tree: ast.Module) -> Iterator[str]:
    """Codes that calls of one module spell, whole or through a helper."""
    table = all_helpers()[path]
    for call in (node for node in ast.walk(tree) if isinstance(node, ast.Call)):
        if called(call) in CARRIERS:
            yield from (text_of(one) for one in given(call) if CODE.fullmatch(text_of(one)))
        if called(call) in table:
            prefix, place, name = table[called(call)]
            named = [keyword.value for keyword in call.keywords if keyword.arg == name]
            yield from (prefix + text_of(one) for one in (*call.args[place : place + 1], *named) if text_of(one))


@cache
def codes() -> frozenset[str]:
    sure = {code for path, tree in trees().items() for code in spelled(path, tree)} | COMPOSED
    families = {code.partition(".")[0] for code in sure}
    passed_on = {
        text_of(one)
        for tree in trees().values()
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and called(call) not in READS_A_FILE
        for one in given(call)
        if CODE.fullmatch(text_of(one)) and text_of(one).partition(".")[0] in families
    }
    return frozenset((sure | passed_on) - (known_kinds() - sure))


@cache
def manual() -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in sorted(MANUAL.glob("*.md")))


def described(pages: str = "*") -> frozenset[str]:
    """Codes that stand in the first cell of a table's row in the manual's pages of that name."""
    lines = [line for path in MANUAL.glob(f"{pages}.md") for line in path.read_text(encoding="utf-8").splitlines()]
    cells = [line.split(" | ")[0] for line in lines if line.startswith("| `")]
    return frozenset(code for cell in cells for code in re.findall(r"`([^`]+)`", cell) if CODE.fullmatch(code))


def test_every_problem_code_has_a_line_in_the_manual() -> None:
    assert sorted(codes() - described()) == []


@pytest.mark.parametrize("page", ["problems", "problems-input"])
def test_a_code_stands_in_the_page_it_names(page: str) -> None:
    assert {Problem(code, "", "", "").page for code in described(page)} == {f"docs/manual/{page}.md"}


def test_the_pages_of_problems_describe_no_code_that_is_gone() -> None:
    assert sorted(described("problems*") - codes()) == []


def test_the_collection_sees_each_way_of_spelling_a_code() -> None:
    assert {
        "act.role",  # a constant
        "calc.kind-unknown",  # a helper with a prefix
        "seal.key-unknown",  # a helper of another module
        "documents.method-coverage",  # a helper of a fault
        "ingest.cut-off",  # passed on by a method
        "identity.session-idle", "identity.password-short", "delivery.file-differs", "export.too-long",
    } <= codes()  # fmt: skip


def test_composed_codes_are_still_composed() -> None:
    """The words behind ``COMPOSED`` occur as constants where their comment says; else the line is out of date."""
    words = defaultdict(set)
    for path, tree in trees().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                words[path.name].add(node.value)
    for code in COMPOSED:
        family, _, word = code.partition(".")
        if family == "documents":
            assert any(word in words[name] for name in ROW_RULES), code
        if family == "seal":
            assert word in words["seal_bytes.py"], code
        if family in WHOLE:
            assert code in words[WHOLE[family]], code
        if family == "profile":
            assert word in set().union(*(words[name] for name in PROFILE_RULES)), code
        if family == "validate":
            assert word.removesuffix("-differs").replace("-", "_") in words["methods.py"], code


def test_row_rules_and_profile_rules_are_all_composed() -> None:
    """A new rule of a sheet or profile cannot slip past ``COMPOSED``."""
    named = {
        text_of(call.args[2])
        for name in ROW_RULES
        for call in ast.walk(trees()[PACKAGE / "documents" / name])
        if isinstance(call, ast.Call) and called(call) == "RowFault" and len(call.args) > 2
    }
    assert {f"documents.{word}" for word in named if word} <= COMPOSED
    rules = [trees()[PACKAGE / "export" / name] for name in PROFILE_RULES]
    yielded = {
        text_of(node.value.elts[0])
        for tree in rules
        for node in ast.walk(tree)
        if isinstance(node, ast.Yield) and isinstance(node.value, ast.Tuple) and len(node.value.elts) == 3
    }
    yielded |= {
        text_of(node.value.elts[1])
        for tree in rules
        for node in ast.walk(tree)
        if isinstance(node, ast.Yield) and isinstance(node.value, ast.Tuple) and len(node.value.elts) == 4
    }
    assert {f"profile.{word}" for word in yielded if word} <= COMPOSED


# ------------------------------------------------------------------ commands, schemas, samples


@pytest.mark.parametrize("words", [" ".join(command.words) for command in COMMANDS])
def test_every_command_stands_in_the_manual(words: str) -> None:
    assert f"`benchseal {words}`" in (MANUAL / "index.md").read_text(encoding="utf-8")


def test_the_manual_names_no_command_that_is_not_there() -> None:
    known = {" ".join(command.words) for command in COMMANDS}
    nouns = {command.words[0] for command in COMMANDS if len(command.words) > 1}
    found = re.findall(r"(?:^    (?:\$ )?|`)benchseal ([a-z-]+)(?: ([a-z-]+))?", manual(), re.MULTILINE)
    said = {f"{noun} {verb}".strip() if noun in nouns else noun for noun, verb in found}
    assert sorted(said - known) == []


@pytest.mark.parametrize("name", NAMES)
def test_every_schema_is_described(name: str) -> None:
    assert f"`{name}`" in (MANUAL / "schemas.md").read_text(encoding="utf-8")
    schema = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    assert schema["title"]
    assert schema["description"]


@pytest.mark.parametrize("name", NAMES)
def test_every_schema_has_a_good_sample_and_named_bad_ones(name: str) -> None:
    stems = sorted(path.stem for path in (SAMPLES / name).iterdir() if path.suffix in {".json", ".yaml"})
    assert stems.count("good") == 1
    assert len(stems) >= 3
    assert all(stem.startswith("bad-") for stem in stems if stem != "good")


@pytest.mark.parametrize(
    "path", sorted((SAMPLES / "calc").rglob("*.json")), ids=lambda path: f"{path.parent.name}-{path.stem}"
)
def test_samples_of_questions_to_calc(path: Path) -> None:
    question = json.loads(path.read_text(encoding="utf-8"))
    found = [problem.code for problem in problems_of(question)]
    if path.stem == "good":
        assert found == []
        assert isinstance(answer(question), dict)
    else:
        assert f"calc.{path.stem.removeprefix('bad-')}" in found


# ------------------------------------------------------------------ examples


def blocks(text: str) -> list[str]:
    """Indented blocks of a page, each as one text."""
    return [block.strip() for block in re.findall(r"(?:^    .*\n?)+", text, re.MULTILINE)]


def assert_alike(found: Any, said: Any, where: str = "$") -> None:  # noqa: ANN401  JSON of any shape
    """Equal but for the last digits of floats, which another machine may give otherwise."""
    if isinstance(said, dict):
        assert isinstance(found, dict), where
        assert found.keys() == said.keys(), where
        for key, one in said.items():
            assert_alike(found[key], one, f"{where}.{key}")
    elif isinstance(said, list):
        assert len(found) == len(said), where
        for place, one in enumerate(said):
            assert_alike(found[place], one, f"{where}[{place}]")
    elif isinstance(said, float):
        assert found == pytest.approx(said, rel=1e-9, abs=1e-12), where
    else:
        assert found == said, where


def test_each_calc_kind_has_a_section_with_its_real_answer() -> None:
    sections = re.split(r"^## ", (MANUAL / "calc.md").read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    shown = {section.split("\n", 1)[0]: blocks(section) for section in sections}
    for kind in KINDS:
        question, said = (json.loads(" ".join(block.split())) for block in shown[kind])
        assert question["kind"] == kind
        assert_alike(answer(question), said)


# ------------------------------------------------------------------ links and words


def anchor(heading: str) -> str:
    kept = "".join(sign for sign in heading.strip().lower() if sign.isalnum() or sign in " -_")
    return kept.replace(" ", "-")


def headings(path: Path) -> set[str]:
    return {anchor(line.lstrip("#")) for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("#")}


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_relative_links_resolve(path: Path) -> None:
    text = re.sub(r"`[^`]*`", "", path.read_text(encoding="utf-8"))
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if "://" in target:
            continue
        name, _, fragment = target.partition("#")
        there = (path.parent / name).resolve() if name else path
        assert there.exists(), target
        assert there.is_relative_to(ROOT), target
        if fragment:
            assert fragment in headings(there), target


def test_every_page_of_the_manual_is_reached_from_its_index() -> None:
    index = (MANUAL / "index.md").read_text(encoding="utf-8")
    assert [path.name for path in MANUAL.glob("*.md") if path.name != "index.md" and f"({path.name}" not in index] == []


def test_every_decision_record_has_its_five_parts() -> None:
    for path in (ROOT / "docs" / "decisions").glob("0*.md"):
        parts = re.findall(r"^([1-5])\. \*\*(.+?)\.\*\*", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert [name for _, name in parts] == ["Decision", "Why", "Not taken", "Price", "Would change it"], path.name


# Paths of one machine: a file of the project must mean the same everywhere.
FORBIDDEN = re.compile(r"(?<![\w.])/(?:work|tmp|root|home)/")
READ = ("pipeline", "schemas", "report_templates", "docs", "tests", "scripts", "tools", "benchmarks", "fixtures", ".ci")
TEXTS = {".py", ".md", ".yaml", ".json", ".jinja", ".css", ".sh", ".toml", ".csv", ".txt", ""}


def read_files() -> list[Path]:
    below = [path for folder in READ for path in (ROOT / folder).rglob("*")]
    found = [path for path in (*below, *ROOT.glob("*.md"), ROOT / "pyproject.toml") if path.is_file()]
    own = Path(__file__).resolve()  # it has to name what it looks for
    return sorted(path for path in found if path.suffix in TEXTS and "__pycache__" not in path.parts and path != own)


def forbidden_in(text: str) -> list[str]:
    return [f"line {text.count(chr(10), 0, hit.start()) + 1}: {hit[0]}" for hit in FORBIDDEN.finditer(text)]


def test_no_file_names_a_place_on_one_machine() -> None:
    found = {
        path.relative_to(ROOT).as_posix(): forbidden_in(path.read_text(encoding="utf-8", errors="replace"))
        for path in read_files()
    }
    assert {name: hits for name, hits in found.items() if hits} == {}


@pytest.mark.parametrize("folder", ["work", "tmp", "root", "home"])
def test_the_search_for_such_places_finds_them(folder: str) -> None:
    assert forbidden_in(f"see /{folder}/x")
    assert not forbidden_in(f"see the{folder}/x")
