"""The project's own Python as syntax trees, and what each module imports."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
Function = ast.FunctionDef | ast.AsyncFunctionDef


def paths(*tops: str) -> list[Path]:
    """Every Python file below the given folders, migrations excluded, sorted."""
    found = [path for top in tops for path in (ROOT / top).rglob("*.py") if "migrations" not in path.parts]
    return sorted(found)


def dotted(path: Path) -> str:
    """The module name of a file: jobs/flow/rules.py is jobs.flow.rules."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def modules() -> dict[str, ast.Module]:
    """Every module of shop and jobs with its tree."""
    return {dotted(path): ast.parse(path.read_text()) for path in paths("shop", "jobs")}


def functions(tree: ast.AST) -> Iterator[Function]:
    """Every function and method of a tree."""
    return (node for node in ast.walk(tree) if isinstance(node, Function))


def imports(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """What a module imports as (local name, full dotted name)."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((each.asname or each.name, each.name) for each in node.names)
        elif isinstance(node, ast.ImportFrom):
            start = "." * node.level + (node.module or "")
            yield from ((each.asname or each.name, f"{start}.{each.name}") for each in node.names)


def called(tree: ast.AST) -> Iterator[tuple[ast.Call, str]]:
    """Every call with the full dotted name of what is called, as far as imports tell."""
    known = dict(imports(tree))
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            first, _, rest = ast.unparse(node.func).partition(".")
            yield node, ".".join(part for part in (known.get(first, first), rest) if part)
