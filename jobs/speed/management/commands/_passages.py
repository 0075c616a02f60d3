"""SQL for drop-offs and jobs with what was recorded of them."""

from datetime import timedelta

from jobs.speed.management.commands._sql import FROM, USES, VISIT, Size, day, insert, instant, key, uid
from shop.catalogue.models import PlanVersion
from shop.staff.models import Person
from shop.stock.models import Bin, Part
from shop.workshop.reads import today

TECHNICIANS, BENCH = 10, 25  # the first technician has so many open jobs at every size
JOBS_EACH = 20  # ended jobs of an item


def passages(size: Size, first: Person, plan: PlanVersion) -> list[str]:
    """Four lines a drop-off; many jobs of old to an item, the open ones each of an item of their own."""
    ended = FROM + size.jobs - size.open
    at, who = instant(f"{today() - timedelta(days=9)} 09:00:00"), str(first.pk)
    # Scattered, or the index of open items would stand in the order of the jobs and look better than it is.
    own = f"{FROM + size.jobs} + CAST(n AS bigint) * 7919 % {size.open}"
    item = f"CASE WHEN n <= {ended} THEN {FROM + 1} + (n - {FROM}) / {JOBS_EACH} ELSE {own} END"
    legs = ["checked_in", "cleared", "stripping", "cleaning", "rebuilding", "testing"]
    leg = " ".join(f"WHEN n % 6 = {n} THEN '{leg}'" for n, leg in enumerate(legs))
    words = ["words", "condition", "gas", "pressure", "pressure_unit", "accessories"]
    seen = dict.fromkeys(words, "''") | {"state": "'whole'", "contents": "'no gas'", "taint": "'none known'"}
    return [
        insert("flow_dropoff", {
            "id": "n", "uid": key("d"), "number": "n", "customer_id": f"{FROM + 1} + n % {size.customers}",
            "promised_on": day("5"), "at": at, "by_id": who, "version": "1"}, size.visits),
        insert("estimates_goahead", {
            "uid": key("3"), "amount": "1000000", "currency": "'GBP'", "given_by": "'the customer'", "how": "'by telephone'",
            "said_on": day("5"), "at": at, "by_id": who, "drop_off_id": "n"}, size.visits),
        insert("flow_line", seen | {
            "id": "n", "uid": key("4"), "drop_off_id": VISIT, "n": f"1 + (n - {FROM + 1}) % 4", "item_id": item},
            size.jobs),
        insert("flow_job", {
            "id": "n", "uid": key("b"), "number": "n", "line_id": "n", "drop_off_id": VISIT, "item_id": item,
            "plan_version_id": f"{plan.pk}", "promised_why": "''", "worked": "0", "version": "1",
            "technician_id": f"CASE WHEN n <= {ended} THEN {who} + n % {TECHNICIANS} WHEN n <= {ended + BENCH} THEN {who} "
            f"ELSE {who} + 1 + n % {TECHNICIANS - 1} END",
            "promised_on": day(f"CASE WHEN n <= {ended} THEN -30 - n % 1000 ELSE n % 60 - 10 END"),
            "leg": f"CASE WHEN n <= {ended} THEN 'handed_back' {leg} END"}, size.jobs),
        insert("flow_round", {
            "id": "n", "job_id": "n", "n": "1", "outcome": f"CASE WHEN n <= {ended} THEN 'serviced' ELSE '' END"},
            size.jobs),
        insert("flow_custody", {
            "uid": key("5"), "line_id": "n", "where": "'here'", "holder": "'the workshop'", "seal": "''", "why": "''",
            "at": at, "by_id": who}, size.jobs),
    ]  # fmt: skip


def work(size: Size, first: Person) -> list[str]:
    """One renewed part a job, a lot for so many jobs, and three entries of the journal a job; moves of what ended."""
    part, at = Part.objects.get(number="TH-302"), instant(f"{today() - timedelta(days=8)} 09:00:00")
    who = str(first.pk)
    take = {
        "lot_id": "n",
        "bin_id": str(Bin.objects.get().pk),
        "verb": "'take'",
        "quantity": "-1",
        "subject": "''",
        "effective_on": day("-8"),
        "at": at,
        "by": f"'{first.uid}'",
    }
    bring = take | {"verb": "'receive'", "quantity": f"{USES}"}
    rounds = [
        # Of each lot one a statement: the trigger that keeps its sum looks at every row that there is.
        insert("stock_movement", take | {"id": f"n + {k * size.lots}"}, size.lots)
        for k in range(min(USES, size.jobs // size.lots))
    ]
    used = len(rounds) * size.lots
    worked = {
        "at": at,
        "by_id": who,
        "recorded_at": at,
        "recorded_by_id": who,
        "authorisation": "'any maker'",
    }
    return [
        insert("stock_lot", {
            "id": "n", "uid": key("6"), "part_id": f"{part.pk}", "number": "'L-' || n", "cured": "''", "extended": "FALSE",
            "on_hand": "0"},
            size.lots),
        insert("stock_movement", bring | {"id": f"n + {size.jobs}"}, size.lots),
        *rounds,
        insert("tray_traypart", worked | {
            "uid": key("7"), "round_id": "n", "key": "'yoke_ring'", "backs": "0", "n": "1", "count": "1", "ending": "'renewed'",
            "origin": "'stock'", "movement_id": "n", "words": "''", "gas": "'air'", "gas_rule": "'nothing is stated'",
            "overridden": "''", "override": "''", "why": "''"}, used),
        insert("flow_move", {
            "uid": key("8"), "job_id": "n", "round_id": "n", "from_leg": "'signed_off'", "to_leg": "'handed_back'",
            "back": "FALSE", "reason": "''", "at": at, "by_id": who}, size.jobs - size.open),
        *(
            insert("journal_entry", {
                "subject": f"'job:' || {uid('b')}", "n": f"{n}", "at": at, "by": f"'{first.uid}'", "verb": f"'{verb}'",
                "facts": f"'{{\"drop_off\":\"' || {uid('d', VISIT)} || '\"}}'", "digest": "''", "previous": f"'{64 * '0'}'",
                "hash": f"'{64 * '0'}'"}, size.jobs)
            for n, verb in enumerate(["checked in", "signed off", "handed back"], start=1)
        ),
    ]  # fmt: skip
