"""Who may use whom, and who may touch the world: the architecture as a test.

``MAY_USE`` is the table of arrows between the rooms of ``pipeline/benchseal``. A new room needs a line in
it and a floor in ``FLOOR``. Every import counts: absolute or relative, inside a function, for annotations
only, or by ``importlib`` under a name written out. The checkers are tested on small invented sources below.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "pipeline" / "benchseal"

FLOOR = {
    "problems": 0, "shipped": 0, "shipped_templates": 0,
    "records": 1, "pictures": 1,
    "documents": 2, "ingest": 2, "validate": 2, "compute": 2, "planning": 2, "review": 2,
    "identity": 2, "ledger": 2, "certificate": 2, "export": 2,
    "verify": 3, "store": 3, "carriers": 3,
    "desk": 4,
    "upkeep": 5,  # testing a backup is verifying a site, which is the desk's
    "demo": 5,  # plays the scenario through desk; a room of its own so that no door holds a story
    "cli": 6, "web": 6, "batch": 6,
    "__main__": 7,
}  # fmt: skip

GROUND = {"problems", "shipped"}
LOW = GROUND | {"records", "pictures"}
PURE = {room for room, floor in FLOOR.items() if floor == 2}
BELOW_DESK = LOW | PURE | {"verify", "store", "carriers"}
EVERYTHING = BELOW_DESK | {"desk", "upkeep"}

MAY_USE: dict[str, set[str]] = {
    "problems": set(),
    "shipped": {"problems", "shipped_templates"},
    "shipped_templates": set(),
    "records": GROUND,
    "pictures": GROUND,
    "documents": LOW,
    "ingest": LOW | {"documents"},
    "validate": LOW | {"documents"},
    "compute": LOW,
    "planning": LOW | {"documents", "compute"},
    "review": LOW,
    "identity": LOW,
    "ledger": LOW,
    "certificate": LOW | {"ledger"},
    "export": LOW | {"documents"},
    # identity: whether a signature fits its statement is said in one place, for the desk and for the outside check.
    "verify": LOW | {"certificate", "ledger", "validate", "compute", "identity"},
    "store": LOW | PURE,
    "carriers": GROUND,
    "desk": BELOW_DESK,
    "upkeep": BELOW_DESK | {"desk"},
    "demo": BELOW_DESK | {"desk"},
    "cli": EVERYTHING | {"demo", "web"},  # a door opens the other one: ``serve``
    "web": EVERYTHING,
    "batch": EVERYTHING,
    "__main__": {"cli"},
}

# Between rooms of one floor only these arrows exist; everything else goes down.
SIBLINGS = {
    ("ingest", "documents"),
    ("validate", "documents"),
    ("planning", "documents"),
    ("export", "documents"),
    ("certificate", "ledger"),
    ("planning", "compute"),
    ("cli", "web"),
    ("shipped", "problems"),  # it refuses a template that was changed
    ("shipped", "shipped_templates"),
}

# Rooms that may meet the clock, randomness, files and the network. All others take values and give values.
WORLDLY = {"carriers", "desk", "store", "upkeep", "demo", "cli", "web", "batch"}
DATABASE = {"sqlite3", "sqlalchemy", "psycopg"}

FORBIDDEN_MODULES = {
    "glob", "http", "httpx", "multiprocessing", "random", "secrets", "shutil", "signal", "socket", "ssl",
    "subprocess", "tempfile", "threading", "time", "urllib.request",
}  # fmt: skip
FORBIDDEN_NAMES = {
    "datetime.date.today", "datetime.datetime.now", "datetime.datetime.today", "datetime.datetime.utcnow",
    "io.open", "numpy.random", "os", "pathlib.Path", "uuid.uuid1", "uuid.uuid4",
}  # fmt: skip
FORBIDDEN_BUILTINS = {"breakpoint", "eval", "exec", "input", "open", "print"}

# What single rooms need all the same, and why.
ALLOWED: dict[str, set[str]] = {
    "shipped": {"pathlib.Path"},  # reads the files that come with the program, never a site's
    "identity": {"secrets", "os.urandom"},  # salts of password hashes
    "compute": {"numpy.random.Generator", "numpy.random.PCG64"},  # started from a seed that was given: see below
    # The PDF renderer is told where its libraries are by a variable, and its font set-up is one thread's at a time.
    "certificate": {"os.environ", "threading"},
}


def rooms_of(package: Path) -> dict[str, list[Path]]:
    """Each room's Python files; a room is a folder with Python files or a module of the package."""
    rooms: dict[str, list[Path]] = {}
    for path in sorted(package.rglob("*.py")):
        room = path.relative_to(package).parts[0].removesuffix(".py")
        if room != "__init__":
            rooms.setdefault(room, []).append(path)
    return rooms


def module_name(path: Path, package: Path) -> str:
    """Dotted name of the module in ``path``; a room's ``__init__.py`` keeps that last part."""
    return ".".join((package.name, *path.relative_to(package).with_suffix("").parts))


def imported(source: str, module: str) -> set[str]:
    """Dotted names of everything ``source``, the text of ``module``, imports, wherever it does so."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                found |= {alias.name for alias in names}
            case ast.ImportFrom(module=tail, names=names, level=level):
                base = module.split(".")[:-level] if level else []
                stem = [*base, *([tail] if tail else [])]
                found |= {".".join([*stem, alias.name]) for alias in names}
            case ast.Call(func=function, args=[ast.Constant(value=str(name)), *_]) if _imports(function):
                found.add(name)
            case _:
                pass
    return found


def _imports(function: ast.expr) -> bool:
    name = function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")
    return name in {"import_module", "__import__"}


def rooms_used(source: str, module: str) -> set[str]:
    """Rooms that ``source`` uses, its own not counted. ``from benchseal import __version__`` uses none."""
    names = [name.split(".") for name in imported(source, module)]
    inside = {name[1] for name in names if name[0] == "benchseal" and len(name) > 1}
    return inside - {module.split(".")[1], "__version__"}


def bad_arrows(source: str, module: str) -> list[str]:
    """What is wrong with the imports of ``source``; empty if nothing is."""
    room = module.split(".")[1]
    if room not in MAY_USE:
        return [f"{module}: the room {room} has no line in MAY_USE"]
    wrong = sorted(rooms_used(source, module) - MAY_USE[room])
    return [f"{module}: {room} may not use {used}" for used in wrong]


def touches(source: str, module: str) -> set[str]:
    """Forbidden parts of the world that ``source`` names, after its import aliases are undone."""
    tree = ast.parse(source)
    aliases = _aliases(tree)
    named = imported(source, module) | {_full_name(node, aliases) for node in ast.walk(tree)}
    allowed = ALLOWED.get(module.split(".")[1], set())
    outside = {name for name in named if not any(_within(name, known) for known in allowed)}
    limits = FORBIDDEN_MODULES | FORBIDDEN_NAMES | FORBIDDEN_BUILTINS | DATABASE
    # A bare `import os` does nothing yet; what is taken from it does.
    return {name for name in outside if name != "os" and any(_within(name, limit) for limit in limits)}


def _within(name: str, limit: str) -> bool:
    return name == limit or name.startswith(f"{limit}.")


def _aliases(tree: ast.AST) -> dict[str, str]:
    """Local name to full name, for every import of the module."""
    known: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            known |= {alias.asname: alias.name for alias in node.names if alias.asname}
            known |= {alias.name.split(".")[0]: alias.name.split(".")[0] for alias in node.names if not alias.asname}
        elif isinstance(node, ast.ImportFrom) and not node.level:
            known |= {alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names}
    return known


def _full_name(node: ast.AST, aliases: dict[str, str]) -> str:
    """Dotted name of a name or attribute that is read; empty for everything else and for local variables."""
    match node:
        case ast.Attribute(value=value, attr=attribute):
            before = _full_name(value, aliases)
            return f"{before}.{attribute}" if before else ""
        case ast.Name(id=name, ctx=ast.Load()):
            return aliases.get(name, name if name in FORBIDDEN_BUILTINS else "")
        case _:
            return ""


FILES = [
    pytest.param(path, module_name(path, PACKAGE), id=str(path.relative_to(PACKAGE)))
    for paths in rooms_of(PACKAGE).values()
    for path in paths
]


@pytest.mark.parametrize(("path", "module"), FILES)
def test_imports_go_only_where_the_table_allows(path: Path, module: str) -> None:
    assert bad_arrows(path.read_text(encoding="utf-8"), module) == []


@pytest.mark.parametrize(("path", "module"), FILES)
def test_only_the_worldly_rooms_touch_the_world(path: Path, module: str) -> None:
    if module.split(".")[1] not in WORLDLY:
        assert sorted(touches(path.read_text(encoding="utf-8"), module)) == []


def unseeded(source: str) -> list[int]:
    """Lines of ``source`` that start a generator without a seed, which would take one from the system."""
    tree = ast.parse(source)
    aliases = _aliases(tree)
    return [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and _full_name(node.func, aliases) == "numpy.random.PCG64"
        and (not node.args or (isinstance(node.args[0], ast.Constant) and node.args[0].value is None))
    ]


@pytest.mark.parametrize(("path", "module"), FILES)
def test_a_generator_starts_from_a_given_seed(path: Path, module: str) -> None:
    assert unseeded(path.read_text(encoding="utf-8")) == [], module


@pytest.mark.parametrize("started", ["PCG64()", "PCG64(None)"])
def test_a_generator_without_a_seed_is_seen(started: str) -> None:
    assert unseeded(f"from numpy.random import PCG64\n\n{started}\nPCG64(7)") == [3]


@pytest.mark.parametrize(("path", "module"), FILES)
def test_only_store_speaks_to_a_database(path: Path, module: str) -> None:
    used = {name.split(".")[0] for name in imported(path.read_text(encoding="utf-8"), module)}
    assert module.split(".")[1] == "store" or not used & DATABASE


@pytest.mark.parametrize("room", sorted(room for room in rooms_of(PACKAGE) if (PACKAGE / room).is_dir()))
def test_a_rooms_init_does_nothing(room: str) -> None:
    """Heavy modules are loaded by who needs them, so importing a room loads nothing. cli holds ``main``."""
    init = PACKAGE / room / "__init__.py"
    body = ast.parse(init.read_text(encoding="utf-8")).body
    assert room == "cli" or [type(statement) for statement in body] == [ast.Expr]


def test_the_table_and_the_floors_agree() -> None:
    assert MAY_USE.keys() == FLOOR.keys()
    sideways = {(room, used) for room, uses in MAY_USE.items() for used in uses if FLOOR[used] >= FLOOR[room]}
    assert sideways == SIBLINGS


def test_the_rooms_are_found() -> None:
    assert {"problems", "records", "ledger", "store", "desk"} <= rooms_of(PACKAGE).keys()


@pytest.mark.parametrize(
    ("module", "source", "used"),
    [
        pytest.param("benchseal.desk.a", "import benchseal.store.sqlite", {"store"}, id="import"),
        pytest.param(
            "benchseal.desk.a", "import benchseal.store.sqlite as s", {"store"}, id="import with another name"
        ),
        pytest.param("benchseal.desk.a", "from benchseal.store import sqlite", {"store"}, id="from room"),
        pytest.param("benchseal.desk.a", "from benchseal import store, ledger", {"store", "ledger"}, id="from package"),
        pytest.param("benchseal.desk.a", "from ..store import sqlite", {"store"}, id="relative"),
        pytest.param("benchseal.desk.a", "from .. import store", {"store"}, id="relative, package itself"),
        pytest.param("benchseal.desk.a.b", "from ...store import sqlite", {"store"}, id="relative, three dots"),
        pytest.param("benchseal.desk.__init__", "from ..store import sqlite", {"store"}, id="relative in an init"),
        pytest.param("benchseal.desk.a", "from . import b\nfrom .b import c", set(), id="own room"),
        pytest.param("benchseal.desk.a", "from benchseal.desk.b import c", set(), id="own room, absolute"),
        pytest.param("benchseal.problems", "from .store import sqlite", {"store"}, id="module beside the rooms"),
        pytest.param("benchseal.desk.a", "def f():\n    from benchseal import store", {"store"}, id="in a function"),
        pytest.param(
            "benchseal.desk.a", "if TYPE_CHECKING:\n    from benchseal.store import S", {"store"}, id="annotations only"
        ),
        pytest.param("benchseal.desk.a", "importlib.import_module('benchseal.store.a')", {"store"}, id="import_module"),
        pytest.param("benchseal.desk.a", "__import__('benchseal.store')", {"store"}, id="__import__"),
        pytest.param("benchseal.desk.a", "from benchseal import __version__\nimport json", set(), id="none"),
    ],
)
def test_every_form_of_import_is_seen(module: str, source: str, used: set[str]) -> None:
    assert rooms_used(source, module) == used


@pytest.mark.parametrize(
    ("module", "source", "said"),
    [
        pytest.param("benchseal.records.a", "from benchseal.desk import b", "records may not use desk", id="upwards"),
        pytest.param("benchseal.ledger.a", "from ..store import b", "ledger may not use store", id="storage is lent"),
        pytest.param("benchseal.ingest.a", "from ..compute import b", "ingest may not use compute", id="sideways"),
        pytest.param(
            "benchseal.web.a", "from benchseal import demo", "web may not use demo", id="demo by another door"
        ),
        pytest.param("benchseal.attic.a", "", "the room attic has no line in MAY_USE", id="room not in the table"),
    ],
)
def test_a_wrong_arrow_is_reported(module: str, source: str, said: str) -> None:
    assert bad_arrows(source, module) == [f"{module}: {said}"]


def test_an_allowed_arrow_is_not_reported() -> None:
    assert bad_arrows("from benchseal.documents import yaml_text", "benchseal.ingest.read") == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        pytest.param("from datetime import datetime\ndatetime.now(UTC)", "datetime.datetime.now", id="clock"),
        pytest.param("import datetime as dt\ndt.datetime.now()", "datetime.datetime.now", id="clock by another name"),
        pytest.param("from datetime import date\nf = date.today", "datetime.date.today", id="clock lent, not called"),
        pytest.param("import time", "time", id="time module"),
        pytest.param("from time import time", "time.time", id="time function"),
        pytest.param("def f():\n    return open('x')", "open", id="file"),
        pytest.param("from pathlib import Path", "pathlib.Path", id="path"),
        pytest.param("import pathlib\npathlib.Path('x')", "pathlib.Path", id="path by its module"),
        pytest.param("import os\nos.urandom(8)", "os.urandom", id="random bytes"),
        pytest.param("from os import environ", "os.environ", id="environment"),
        pytest.param("import secrets", "secrets", id="secrets"),
        pytest.param("import numpy as np\nnp.random.normal()", "numpy.random", id="random numbers"),
        pytest.param("import numpy as np\nnp.random.default_rng()", "numpy.random", id="an unseeded generator"),
        pytest.param("import uuid\nuuid.uuid4()", "uuid.uuid4", id="random id"),
        pytest.param("import sqlite3", "sqlite3", id="database"),
        pytest.param("print('x')", "print", id="printing"),
    ],
)
def test_a_touch_of_the_world_is_seen(source: str, found: str) -> None:
    assert found in touches(source, "benchseal.compute.a")


@pytest.mark.parametrize(
    ("room", "source"),
    [
        pytest.param("compute", "from datetime import datetime\ndatetime(2026, 1, 2)", id="a given time"),
        pytest.param("compute", "def f(now, time):\n    return now() + time.time()", id="a clock that was lent"),
        pytest.param("compute", "from pathlib import PurePath\nPurePath('a') / 'b'", id="a name of a file"),
        pytest.param("documents", "import io\nimport pikepdf\npikepdf.open(io.BytesIO(b''))", id="open of a library"),
        pytest.param("identity", "import secrets\nsecrets.token_bytes(16)", id="salt in identity"),
        pytest.param("certificate", "import os\nos.environ['A'] = 'b'", id="variable for the renderer"),
    ],
)
def test_values_in_values_out_is_not_reported(room: str, source: str) -> None:
    assert touches(source, f"benchseal.{room}.a") == set()
