"""A14: markup in every text that people write; then every page in Chromium, which runs nothing of it."""

from contextlib import suppress
from itertools import cycle
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.db.models import JSONField
from playwright.sync_api import Browser, Page

from shop.journal.rules import append_only_sql, drop_append_only_sql
from shop.staff.models import Person
from tests.attacks.fields import FREE, KEPT, free, in_json, kept, texts, within
from tests.browser.test_pages import addresses, demo, opened
from tests.conftest import lift

PAYLOADS = [
    "<script>alert(1)</script>",
    "\"'><img src=x onerror=alert(2)>",
    "</title><svg onload=alert(3)>",
    "</textarea><x-mark>",
    "' autofocus onfocus=alert(4) x='",
    '" onmouseover=alert(5) style="position:fixed;inset:0',
    "javascript:alert(6)",
    "--><x-mark><!--",
    "{{7*7}}{% now %}<x-mark>",
    "';alert(8);//<x-mark>",
    "<iframe srcdoc='<script>parent.alert(9)</script>'>",
    "<base href=//elsewhere.example/><form action=/x><x-mark>",
]
# Free texts of which the demo has no row: nothing of them is seen here yet.
WITHOUT_A_ROW = {
    "batches.Brought.old_key", "bench.Attempt.certificate", "catalogue.Withdrawal.reason",
    "handback.Disposal.how", "instruments.BadPeriod.why", "instruments.Check.against", "notices.Answer.words", "planning.Takeover.condition",
    "safety.Withdrawal.reason", "tray.TrayPart.override", "tray.TrayPart.why", "counts.Count.reason", "orders.Order.reason",
    "signoff.Twin.record", "rights.Erasure.closed_why",
}  # fmt: skip
# Plans name parts by number: this one keeps its own, or nothing of it is needed and its need ahead has no page.
SPARED = {"stock.Part.number": {"number": "BP-101"}}
LISTENER = """(() => { window.ran = []; window.reports = [];
  window.alert = said => window.ran.push(String(said));
  const fetched = window.fetch;
  window.fetch = (...given) => { if (String(given[0]).includes('elsewhere')) window.ran.push('fetch'); return fetched(...given); };
  document.addEventListener('securitypolicyviolation',
    e => window.reports.push(`${e.violatedDirective} ${e.blockedURI} ${e.sample}`)); })()"""
FOUND = """() => [...window.ran, ...window.reports, ...[...document.querySelectorAll(
  'x-mark, base, iframe, img[onerror], svg[onload], [onfocus], [onmouseover], [href^="javascript:" i]')].map(e => e.outerHTML)]"""


def poisoned(row: Any, field: Any, payload: str) -> Any:
    """What a free text of a row is with a payload in it; what must differ from row to row still does."""
    old, end, most = getattr(row, field.attname), str(row.pk)[-8:], field.max_length or 500
    if isinstance(field, JSONField):
        plain = isinstance(old, list) and all(isinstance(each, str) for each in old)
        return [payload] if plain else within(old, payload)
    if f"{row._meta.app_label}.{field.name}" in ("journal.text", "signoff.record"):
        return in_json(old, payload)
    return (payload if len(payload) + len(end) <= most else "<x-mark>")[: most - len(end)] + end


def poison() -> set[str]:
    """Write a payload into each free text of each row; the columns in which none could be written."""
    payloads, left = cycle(PAYLOADS), set()
    for model, field in texts():
        if not free(model, field):
            continue
        rows, count = model._default_manager, 0
        for row in rows.exclude(**SPARED.get(f"{model._meta.label}.{field.name}", {"pk": None})).order_by(
            "pk"
        ):
            with suppress(IntegrityError), transaction.atomic():  # some rows must be empty here
                count += rows.filter(pk=row.pk).update(**{field.name: poisoned(row, field, next(payloads))})
        left |= set() if count else {f"{model._meta.label}.{field.name}"}
    return left


def test_it_names_every_column_of_text() -> None:
    """One more column is one more place for markup: it is written down as free, or with the reason why it is not."""
    both = [(m._meta.label, f.name) for m, f in texts() if free(m, f) == kept(m, f)]
    named = sum(len(x.split()) for x in FREE.values()) + sum(len(x.split()) for x, _ in KEPT.values())

    assert both == []
    assert named == len(list(texts()))
    assert within({"title": "a", "key": "b"}, "x") == {"title": "x", "key": "b"}


def faults_of(page: Page, site: str, name: str, address: str) -> list[str]:
    """What ran, was reported or stands as an element on one page, and who else was asked for anything."""
    elsewhere: list[str] = []
    page.on("request", lambda asked: None if asked.url.startswith(site) else elsewhere.append(asked.url))
    answer = page.goto(site + address)
    assert answer is not None
    page.keyboard.press("Tab")
    found = [] if answer.status == 200 else [str(answer.status)]
    return [f"{name}: {fault[:160]}" for fault in found + page.evaluate(FOUND) + elsewhere]


@pytest.mark.browser
@pytest.mark.django_db(transaction=True)
def test_it_works(browser: Browser, site: str) -> None:
    lead = demo()
    pages = addresses()
    pages.pop("sign_in")
    lift(drop_append_only_sql)
    try:
        left = poison()
    finally:
        lift(append_only_sql)
    page = opened(browser, site, Person.objects.get(pk=lead.pk))
    page.add_init_script(LISTENER)

    found = [fault for name, address in pages.items() for fault in faults_of(page, site, name, address)]

    assert found == []
    assert len(pages) >= 90
    assert left == WITHOUT_A_ROW
