"""Imports go down only: the rooms have ranks, and rooms of one rank ignore each other (design, the house)."""

import ast
import re
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter

from tests.guards.sources import Function, imports, modules

# Lowest first; rooms on one line have one rank. The project's own modules stand around the rooms of the shop.
ORDER = [
    "shop.environment",
    "shop.settings",
    "shop.celery",
    "shop.workshop",
    "shop.words",
    "shop.journal",
    "shop.files",
    "shop.backup",
    "shop.relay",
    "shop.post",
    "shop.api",
    "shop.web",
    "shop.paper",
    "shop.sheets",
    "shop.staff",
    "shop.search",
    "shop.invitations",
    "shop.signing",
    "shop.signin",
    "shop.you",
    "shop.help",
    "shop.customers",
    "shop.outbox",
    "shop.wording",
    "shop.links",
    "shop.catalogue",
    "shop.drafts",
    "shop.advice",
    "shop.gases shop.lives shop.money",
    "shop.intervals",
    "shop.gear",
    "shop.sets",
    "shop.instruments",
    "shop.stock",
    "shop.counts",
    "shop.alternatives shop.sites",
    "shop.suppliers shop.value",
    "shop.orders",
    "shop.clocks",
    "shop.due",
    "shop.health",
    "shop.urls shop.wsgi",
    "jobs.flow",
    "jobs.worksheet jobs.tray jobs.bench jobs.planning jobs.estimates jobs.terms jobs.condition",
    "jobs.advance",
    "jobs.live",
    "jobs.traces",
    "jobs.records",
    "jobs.notices",
    "jobs.safety",
    "jobs.matches",
    "jobs.lending",
    "jobs.bookings",
    "jobs.answers",
    "jobs.checkin jobs.signoff jobs.handback jobs.bills jobs.reminders jobs.queue",
    "jobs.porthole",
    "jobs.quotes",
    "jobs.counter",
    "jobs.evidence",
    "jobs.ahead jobs.books",
    "jobs.demand",
    "jobs.demo jobs.takeout jobs.batches",
    "jobs.bringin jobs.whose",
    "jobs.rights",
    "jobs.speed",
]
RANK = {room: rank for rank, rooms in enumerate(ORDER) for room in rooms.split()}
LABELS = {room.partition(".")[2]: room for room in RANK} | {
    "settings": "shop.staff"
}  # settings.AUTH_USER_MODEL
# The only modules that may name rooms above them, and only as text.
NAME_AS_TEXT = {"shop.settings", "shop.celery", "shop.urls"}
RELATIONS = {"ForeignKey", "OneToOneField", "ManyToManyField"}


def room(name: str) -> str:
    """The room of a dotted name of ours."""
    return ".".join(name.split(".")[:2])


def ours(name: str) -> bool:
    """Whether a dotted name is of shop or jobs."""
    return name.split(".")[0] in ("shop", "jobs")


def texts(name: str, tree: ast.AST) -> Iterator[str]:
    """Rooms named as text: dotted names of ours, and models given to a relation as a string."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and name not in NAME_AS_TEXT:
            if re.fullmatch(r"(shop|jobs)(\.\w+)+", node.value):
                yield node.value
        elif isinstance(node, ast.Call) and ast.unparse(node.func).rpartition(".")[2] in RELATIONS:
            to = [*node.args[:1], *(each.value for each in node.keywords if each.arg in ("to", "through"))]
            for target in to:
                said = ast.unparse(target).strip("\"'")
                if isinstance(target, ast.Constant | ast.Attribute) and "." in said:
                    yield LABELS.get(said.partition(".")[0], f"unknown.{said}")


def wrong_way(name: str, target: str) -> bool:
    """Whether an import from a module to a target goes up or sideways."""
    here, there = room(name), room(target)
    return here != there and not RANK.get(there, len(ORDER)) < RANK.get(here, -1)


def test_it_works() -> None:
    assert not wrong_way("jobs.signoff.pages", "jobs.advance.pages")
    assert wrong_way("jobs.handback.actions", "jobs.signoff.models")
    assert wrong_way("shop.gear.models", "jobs.flow.models")
    assert list(texts("jobs.flow.models", ast.parse('models.ForeignKey("bench.Attempt")'))) == ["jobs.bench"]


def test_it_knows_every_room() -> None:
    rooms = {room(name) for name in modules()} - {"shop", "jobs"}

    assert rooms - set(RANK) == set()


def test_it_lets_imports_go_down_only() -> None:
    found = [
        f"{name} imports {target}"
        for name, tree in modules().items()
        for target in {*(full for _, full in imports(tree) if ours(full)), *texts(name, tree)}
        if wrong_way(name, target)
    ]

    assert found == []


def test_it_finds_no_relative_or_star_import() -> None:
    found = [
        f"{name} imports {full}"
        for name, tree in modules().items()
        for _, full in imports(tree)
        if full.startswith(".") or full.endswith(".*")
    ]

    assert found == []


def test_it_finds_no_import_inside_a_function() -> None:
    found = [
        f"{name}:{node.lineno}"
        for name, tree in modules().items()
        for holder in ast.walk(tree)
        if isinstance(holder, Function)
        for node in ast.walk(holder)
        if isinstance(node, ast.Import | ast.ImportFrom)
        or (isinstance(node, ast.Call) and ast.unparse(node.func).endswith(("import_module", "__import__")))
    ]

    assert found == []


def test_it_finds_no_circle() -> None:
    known = modules()
    graph = {
        name: {full if full in known else full.rpartition(".")[0] for _, full in imports(tree) if ours(full)}
        for name, tree in known.items()
    }

    try:
        list(TopologicalSorter(graph).static_order())
        circle: list[str] = []
    except CycleError as error:
        circle = error.args[1]

    assert circle == []
