"""Plans for rules that need one: the two of the fixtures, and small changes of them."""

import json
from typing import Any

from shop.catalogue.rules import Plan, read_plan
from tests.conftest import ROOT

Document = dict[str, Any]


def document(kind: str = "first_stage") -> Document:
    """A fresh copy of a fixture's plan document."""
    found: Document = json.loads((ROOT / "fixtures" / "plans" / f"{kind}.json").read_text())
    return found


def plan(kind: str = "first_stage") -> Plan:
    """A fixture's plan, read."""
    return read_plan(document(kind))
