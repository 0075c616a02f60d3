"""Put an amount to a customer by link, withdraw it; take the answers of whoever holds the link."""

import logging
from typing import Any

from django.db import transaction

from jobs.estimates.actions import answer_by_link, asked_again, go_ahead_by_link
from jobs.estimates.models import LINK, Charge
from jobs.estimates.reads import estimate, unanswered
from jobs.estimates.rules import State
from jobs.flow.models import DropOff
from jobs.flow.rules import ENDED
from jobs.porthole.actions import locked, tell_customer
from jobs.porthole.reads import pays
from jobs.quotes.models import Quote
from jobs.quotes.reads import newest, nudged, supplement
from jobs.quotes.rules import Became, answer_refusals, put_refusals
from shop.journal.actions import write
from shop.links.models import Link
from shop.links.rules import BY_LINK
from shop.money.reads import terms
from shop.post.rules import State as Post
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.wording.rules import Key
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Stale, refuse

log = logging.getLogger(__name__)


def put_quote(*, by: Person, drop_off: DropOff, amount: int) -> Quote:
    """Ask the customer by letter and link to agree up to an amount; what was put to them before is withdrawn."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        row, customer = locked(drop_off)
        found = estimate(row)
        ended = not row.jobs.exclude(leg__in=ENDED).exists()
        refuse(put_refusals(amount, found.price, found.currency, pays=pays(row), ended=ended))
        before = newest(row)
        if before and not before.became:
            _end(before, Became.WITHDRAWN, str(by.uid))
        n = before.n + 1 if before else 1
        given: dict[str, Any] = {"amount": amount, "currency": found.currency}
        made = Quote.objects.create(drop_off=row, n=n, at=now(), by=by, **given)
        tell_customer(drop_off=row, customer=customer, note=Key.QUOTED, run=made.uid.hex)
        facts = {"quote": str(made.uid), "n": n} | given
        write(subject=f"drop-off:{row.uid}", by=str(by.uid), verb="put to the customer", facts=facts)
    return made


def withdraw_quote(*, by: Person, quote: Quote) -> Quote:
    """Nobody agrees to an amount any more."""
    require(by, Can.TAKE_GO_AHEAD)
    with transaction.atomic():
        locked(quote.drop_off)
        row = _fresh(quote)
        refuse([Refusal("ended", f"It was {row.became} already.")] if row.became else [])
        return _end(row, Became.WITHDRAWN, str(by.uid))


def answer_quote(*, link: Link, drop_off: DropOff, seen: int, answer: str) -> Quote:
    """A customer agrees or declines by link; the same answer again is the one before, another amount is looked at first."""
    with transaction.atomic():
        row, _ = locked(drop_off)
        quote = newest(row)
        refuse([] if quote and pays(row) else [Refusal("nothing-asked", "Nothing waits for your answer.")])
        assert quote is not None
        if quote.n != seen:
            raise Stale(quote.n)
        if quote.became == answer and quote.link_id:
            return quote
        found = estimate(row)
        refuse(answer_refusals(quote.became, quote.amount, found.price))
        _end(quote, Became(answer), BY_LINK, link)
        given = found.go_ahead  # one that was given since for more is not cut by an older letter
        higher = given is not None and given.at > quote.at and given.amount > quote.amount
        if answer == Became.AGREED and not higher:
            go_ahead_by_link(drop_off=row, amount=quote.amount)
    return quote


def answer_supplement_by_link(
    *, drop_off: DropOff, charge: Charge, n: int, seen: int, agreed: int, answer: str, went_back: str
) -> Charge:
    """The same of a supplement: `seen` is its version, `agreed` the amount in all that stood on the page."""
    with transaction.atomic():
        row, _ = locked(drop_off)
        present = Charge.objects.get(pk=charge.pk, drop_off=row)
        said = State.STANDS if answer == Became.AGREED else State.DECLINED
        if present.how == LINK and present.state == said:
            return present
        asked = supplement(n, present, estimate(row))
        if present.version != seen or (present.state == State.ASKED and asked.agreed != agreed):
            raise Stale(present.version)
        amount = asked.agreed if answer == Became.AGREED else None
        return answer_by_link(
            charge=present, seen=seen, amount=amount, went_back="" if amount is not None else went_back
        )


def ask_again() -> int:
    """Write whoever has not answered for so many days one letter for each drop-off; each supplement is asked about again once.

    A drop-off that cannot be written about is left for the next run, and the others go on.
    """
    nudge_days, written = terms().nudge_days, 0
    wait = unanswered().filter(asked_again_at=None) if nudge_days else Charge.objects.none()
    for key in dict.fromkeys(wait.values_list("drop_off", flat=True)):
        try:
            written += _asked_again(
                DropOff.objects.select_related("customer__merged_into").get(pk=key), nudge_days
            )
        except Exception:
            log.exception("No letter could ask again about the drop-off with the key %s.", key)
    return written


def _asked_again(drop_off: DropOff, nudge_days: int | None) -> bool:
    """Whether a letter went about a drop-off; one that would rest, because mail does not arrive there, is not written."""
    with transaction.atomic():
        row, customer = locked(drop_off)
        charges = nudged(row, customer, nudge_days)
        if not charges:
            return False
        run = f"{charges[0].uid.hex} again"
        letter = tell_customer(drop_off=row, customer=customer, note=Key.ASKED_AGAIN, run=run)
        if letter is None or letter.state == Post.SUPPRESSED:
            transaction.set_rollback(True)
            return False
        asked_again(charges=charges, letter=letter)
    return True


def _fresh(quote: Quote) -> Quote:
    return Quote.objects.select_related("drop_off").get(pk=quote.pk)


def _end(row: Quote, became: Became, who: str, link: Link | None = None) -> Quote:
    row.became, row.ended_at, row.link = became, now(), link
    row.save(update_fields=["became", "ended_at", "link"])
    facts = {"quote": str(row.uid), "n": row.n, "amount": row.amount, "currency": row.currency}
    verb = {"agreed": "agreed by link", "declined": "declined by link"}.get(
        became, "taken back from the customer"
    )
    write(subject=f"drop-off:{row.drop_off.uid}", by=who, verb=verb, facts=facts)
    return row
