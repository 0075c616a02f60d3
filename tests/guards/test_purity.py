"""Rules and methods are pure, time has one source, rooms hold only the files they may, and files stay short."""

import ast
from pathlib import Path
from statistics import quantiles

import pytest

from tests.guards.sources import ROOT, called, dotted, functions, imports, modules, paths

# What a pure module may import: nothing of it reads a clock, a file, the network, the environment or chance.
PURE = {
    "base64",
    "calendar",
    "collections",
    "cryptography",  # Ed25519 signs without chance
    "dataclasses",
    "datetime",
    "decimal",
    "email",
    "enum",
    "fractions",
    "functools",
    "hashlib",
    "hmac",
    "html",
    "itertools",
    "json",
    "math",
    "numpy",
    "phonenumbers",  # the tables of its countries, nothing else
    "re",
    "rfc8785",
    "struct",
    "typing",
    "unicodedata",
    "zlib",
}
ONLY = {"uuid.UUID"}  # the type of an identifier; those of its module that make one take a clock or chance
CLOCKS = {"now", "utcnow", "today", "time", "time_ns", "localtime", "gmtime", "monotonic"}
READ_OR_WRITE = {"open", "print", "input", "loadtxt", "savetxt", "fromfile", "load", "save"}
ROOM_FILES = {"rules", "models", "actions", "reads", "shapes", "api", "pages", "tasks", "apps", "__init__"}
PROJECT = {"__init__", "environment", "settings", "urls", "celery", "wsgi"}
ROOM_FOLDERS = {"migrations", "templates", "templatetags", "static", "management", "__pycache__"}


def pure() -> dict[str, ast.Module]:
    """Every rules.py and every method of the bench."""
    return {
        name: tree
        for name, tree in modules().items()
        if name.endswith(".rules") or name.startswith("jobs.bench.methods")
    }


def is_pure_name(name: str) -> bool:
    """Whether a pure module may import a dotted name."""
    return (
        name.split(".")[0] in PURE
        or name in ONLY
        or ".rules." in name
        or name.startswith("jobs.bench.methods.")
    )


def lines(path: Path) -> int:
    """How many lines a file has."""
    return len(path.read_text().splitlines())


def lengths(*tops: str) -> dict[str, int]:
    """The lines of every function below the folders, decorators and docstring included."""
    return {
        f"{dotted(path)}.{node.name}:{node.lineno}": (node.end_lineno or 0)
        - min([node.lineno, *(each.lineno for each in node.decorator_list)])
        + 1
        for path in paths(*tops)
        for node in functions(ast.parse(path.read_text()))
    }


def p90(values: list[int]) -> float:
    """The ninetieth percentile."""
    return quantiles(values, n=10, method="inclusive")[-1]


def test_it_works() -> None:
    names = set(pure())

    assert {"jobs.flow.rules", "shop.journal.rules", "jobs.bench.methods.creep"} <= names
    assert not is_pure_name("django.db.models")
    assert not is_pure_name("jobs.flow.models.Job")


def test_it_finds_only_pure_imports() -> None:
    found = [
        f"{name} imports {full}"
        for name, tree in pure().items()
        for _, full in imports(tree)
        if not is_pure_name(full)
    ]

    assert found == []


def test_it_finds_no_clock_and_no_file_in_what_is_pure() -> None:
    found = [
        f"{name}:{call.lineno} calls {full}"
        for name, tree in pure().items()
        for call, full in called(tree)
        if full.rpartition(".")[2] in (CLOCKS if "." in full else READ_OR_WRITE)
        or full.startswith("numpy.")
        and full.rpartition(".")[2] in READ_OR_WRITE
    ]

    assert found == []


def test_it_finds_one_source_of_time() -> None:
    """Only workshop.reads asks the machine; `timezone.now`, `auto_now` and `auto_now_add` appear nowhere."""
    asks = ("datetime.datetime.now", "datetime.datetime.utcnow", "datetime.date.today", "time.time")
    found = [
        f"{name}:{node.lineno}"
        for name, tree in modules().items()
        for node, full in called(tree)
        if (name != "shop.workshop.reads" and full.startswith(asks))
        or full == "django.utils.timezone.now"
        or {"auto_now", "auto_now_add"} & {each.arg for each in node.keywords}
    ]
    named = [name for name, tree in modules().items() for _, full in imports(tree) if "timezone.now" in full]
    passed = [
        f"{name}:{node.lineno}"
        for name, tree in modules().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and ast.unparse(node) == "timezone.now"
    ]

    assert found + named + passed == []


def test_it_finds_only_the_files_a_room_may_have() -> None:
    found = []
    for top, allowed in (("shop", PROJECT), ("jobs", {"__init__"})):
        for path in (ROOT / top).iterdir():
            if path.is_file() and path.stem not in allowed:
                found.append(str(path))
            for each in path.iterdir() if path.is_dir() and path.name != "__pycache__" else ():
                known = ROOM_FILES if each.is_file() else ROOM_FOLDERS
                if each.stem not in known and each.relative_to(ROOT) != Path("jobs/bench/methods"):
                    found.append(str(each))

    assert found == []


@pytest.mark.parametrize("top", ["shop", "jobs", "tests", "deploy"])
def test_it_finds_nothing_too_long(top: str) -> None:
    files = {dotted(path): lines(path) for path in paths(top)}

    assert {name: n for name, n in files.items() if n > 400} == {}
    assert {name: n for name, n in lengths(top).items() if n > 60} == {}


def test_it_finds_files_and_functions_short() -> None:
    files = [n for path in paths("shop", "jobs") if (n := lines(path))]

    assert p90(files) <= 211  # the aim is 160: DEVELOPERS.md says what brings it down
    assert p90(list(lengths("shop", "jobs").values())) <= 30
