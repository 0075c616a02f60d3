"""Who may call what: one caller of `move`, one writer per room, and the right asked first in every action."""

import ast
import re
import tokenize

from tests.guards.sources import Function, called, dotted, functions, modules, paths

WRITES = {
    "save",
    "create",
    "update",
    "delete",
    "bulk_create",
    "bulk_update",
    "get_or_create",
    "update_or_create",
}
# Public functions of an actions.py that do not ask for a right first, each with the reason.
INNER = {
    "shop.stock.actions.locked_lot": "locks, writes nothing",
    "jobs.advance.actions.carry": "sign-off and hand-back come through it after their own right",
    "jobs.advance.actions.gather": "reads facts for a move that asked already",
    "jobs.batches.actions.locked": "locks, writes nothing",
    "jobs.batches.actions.tell_batch": "whoever began or undoes the batch was asked",
    "jobs.bringin.actions.go_on": "the worker and the command call it; whoever began the batch was asked",
    "jobs.flow.actions.close_round": "sign-off asks",
    "jobs.flow.actions.give": "planning asks",
    "jobs.flow.actions.hold_evidence": "whoever keeps evidence asks",
    "jobs.flow.actions.locked_with_work": "locks, writes nothing",
    "jobs.flow.actions.hand_over": "hand-back asks",
    "jobs.flow.actions.let_go": "whoever lifts a hold asks",
    "jobs.flow.actions.locked": "locks, writes nothing",
    "jobs.flow.actions.move": "advance asks, its only caller",
    "jobs.flow.actions.open_drop_off": "check-in asks",
    "jobs.flow.actions.open_jobs": "check-in asks",
    "jobs.flow.actions.open_lines": "check-in asks",
    "jobs.flow.actions.present_round": "reads",
    "jobs.flow.actions.put_hold": "whoever holds asks",
    "jobs.flow.actions.recorded": "the work that was recorded asked",
    "jobs.flow.actions.worked": "the work that it counts asks",
    "jobs.notices.actions.found_bad": "whoever found the instrument bad was asked, and raising the doubt asks",
    "jobs.notices.actions.take_in": "the work that was recorded asked",
    "jobs.matches.actions.asked_again": "sign-off and hand-back ask",
    "jobs.matches.actions.write_on": "the worker calls it, nobody acts",
    "jobs.rights.actions.sweep": "the worker and the command call it, nobody acts",
    "shop.files.actions.erase_bytes": "the erasure asks",
    "shop.files.actions.unlink_gone": "the worker calls it, nobody acts",
    "shop.outbox.actions.forget_addresses": "the erasure asks",
    "shop.outbox.actions.forget_letters": "the erasure asks",
    "shop.outbox.actions.unlink_forgotten": "the worker calls it, nobody acts",
    "jobs.safety.actions.go_on": "the worker calls it, nobody acts",
    "jobs.safety.actions.look_at_items": "whoever adds, changes, brings in, checks in or lends was asked",
    "jobs.safety.actions.look_at_lot": "whoever received the lot was asked",
    "jobs.reminders.actions.remind": "the beat and the command call it, nobody acts",
    "jobs.reminders.actions.claim": "part of remind",
    "jobs.reminders.actions.write_some": "part of remind",
    "shop.api.actions.digest_of": "pure",
    "shop.api.actions.forget_answers": "the worker calls it, nobody acts",
    "shop.api.actions.once": "runs the action, which asks",
    "shop.backup.actions.back_up": "the command calls it, nobody acts",
    "shop.backup.actions.restore": "the command calls it, nobody acts; refused unless the place is empty",
    "shop.catalogue.actions.model_for": "whoever brings in was asked",
    "shop.clocks.actions.restart_past": "whoever brings in was asked",
    "shop.clocks.actions.take_back_fresh": "whoever undoes a batch is asked",
    "shop.clocks.actions.take_back_past": "whoever undoes a batch is asked",
    "shop.customers.actions.add_customers": "whoever brings in was asked",
    "shop.customers.actions.take_back_customers": "whoever undoes a batch is asked",
    "shop.gear.actions.add_items": "whoever brings in was asked",
    "shop.gear.actions.take_back_items": "whoever undoes a batch is asked",
    "shop.clocks.actions.restart": "sign-off asks",
    "shop.clocks.actions.reckon_items": "whoever changed what the dates follow from asked",
    "shop.gear.actions.found_beyond": "sign-off and advance ask",
    "shop.gear.actions.here_again": "check-in and bringing back ask",
    "shop.intervals.actions.locked": "locks, writes nothing",
    "shop.workshop.actions.set_places": "whoever follows a place asks",
    "shop.workshop.actions.set_terms": "whoever changes the terms asks",
    "shop.workshop.actions.renew_feed": "whoever renews the calendar's address asks",
    "shop.clocks.actions.take_back": "advance asks",
    "shop.clocks.actions.set_going": "check-in and sign-off ask",
    "shop.workshop.actions.say_cylinders_tested": "whoever changes the setting asks, in a room that knows rights",
    "shop.files.actions.keep_document": "whoever keeps a certificate asks",
    "shop.workshop.actions.set_reach": "likewise",
    "shop.workshop.actions.set_letters": "likewise",
    "shop.workshop.actions.set_oxygen_threshold": "whoever changes the setting asks, in a room that knows rights",
    "shop.files.actions.point_out": "whoever points something out asks",
    "shop.files.actions.keep_photograph": "whoever photographs an item, a line or a job asks",
    "shop.health.actions.keep_heartbeat": "the worker calls it, nobody acts",
    "shop.journal.actions.hash_of": "pure",
    "shop.journal.actions.write": "every action calls it after asking",
    "shop.journal.actions.write_all": "likewise",
    "shop.outbox.actions.read_mailbox": "the worker calls it, nobody acts",
    "shop.outbox.actions.take_report": "the signature of a webhook or the mailbox lets it in; nobody acts",
    "shop.post.actions.suppress": "whoever suppresses asks; a report and a mail server have no actor",
    "shop.post.actions.free_stuck": "the worker calls it, nobody acts",
    "shop.post.actions.send_waiting": "the worker calls it, nobody acts",
    "shop.post.actions.write_letter": "reminders decide; a letter has no actor",
    "shop.post.actions.write_letters": "likewise",
    "shop.search.actions.forget": "the action that merges the thing away asks",
    "shop.search.actions.forget_all": "the action that takes the things away asks",
    "shop.search.actions.find_again": "the command calls it, nobody acts",
    "shop.search.actions.put_all": "likewise",
    "shop.search.actions.put": "the action that adds or changes the thing asks",
    "shop.staff.actions.add_person": "asks, but for the first lead, whom nobody takes on",
    "jobs.bookings.actions.book_by_link": "whoever holds a private link, which the door has asked",
    "jobs.bookings.actions.move_by_link": "likewise",
    "jobs.bookings.actions.cancel_by_link": "likewise",
    "jobs.bookings.actions.came": "check-in asks",
    "jobs.bookings.actions.write_day_before": "the worker calls it, nobody acts",
    "jobs.quotes.actions.ask_again": "the worker calls it, nobody acts",
    "jobs.estimates.actions.asked_again": "the worker's letter asked; it locks the drop-off",
    "jobs.answers.actions.say_elsewhere": "whoever holds a private link, which the door has asked",
    "jobs.answers.actions.say_gone": "likewise",
    "jobs.answers.actions.say_address": "likewise",
    "jobs.answers.actions.ask_fewer": "likewise",
    "jobs.answers.actions.ask_none": "likewise",
    "jobs.porthole.actions.ask": "likewise",
    "jobs.quotes.actions.answer_quote": "likewise",
    "jobs.quotes.actions.answer_supplement_by_link": "likewise",
    "jobs.estimates.actions.go_ahead_by_link": "likewise",
    "jobs.estimates.actions.answer_by_link": "likewise",
    "jobs.porthole.actions.locked": "locks, writes nothing",
    "jobs.porthole.actions.tell_customer": "whoever has it written asks",
    "shop.customers.actions.wish": "the answer by link; part of it",
    "shop.post.actions.keep_back": "the answer by link; part of it",
    "shop.links.actions.end_links": "whoever takes them back or changes the address asks",
    "shop.links.actions.make_links": "whoever writes the letter decides; a link has no actor",
    "shop.invitations.actions.choose": "whoever holds the link of a letter; the link is asked",
    "shop.invitations.actions.forgotten": "whoever asks on the sign-in page; nobody acts",
    "shop.signing.actions.signed": "whoever signs a record was asked",
    "shop.invitations.actions.write_to": "the action that writes asked; part of it",
    "shop.signin.actions.keep_session": "part of a page's answer, after the action that asked",
    "shop.staff.actions.choose_words": "choose asks for the link",
    "shop.staff.actions.count_wrong_tries": "counts for everybody, whatever they may do",
    "shop.staff.actions.first_lead": "the command that opens the workshop; refused once there is anybody",
    "shop.stock.actions.book_count": "the count asks",
    "shop.stock.actions.take_back": "the order asks",
    "shop.orders.actions.find_again": "the change of the supplier asks",
    "shop.stock.actions.take": "tray and open_kit ask",
    "shop.stock.actions.put_back": "tray asks",
    "shop.suppliers.actions.locked": "locks, writes nothing",
    "shop.workshop.actions.failpoint": "writes nothing; only a trial run's process dies of it",
    "shop.workshop.actions.next_numbers": "the caller asks",
    "shop.workshop.actions.next_number": "the caller asks",
    "shop.workshop.actions.open_workshop": "the command that opens the workshop; refused once it stands",
}
# Public actions with a `by` that do not reach the journal, each with who writes there for them.
JOURNALED_BY_THE_CALLER = {
    "jobs.batches.actions.begin": "go_on, with the last row: one entry a batch",
    "jobs.batches.actions.set_columns": "likewise",
    "jobs.batches.actions.upload": "likewise",
    "jobs.live.actions.add_chunk": "end, with the digest of all chunks together",
    "shop.clocks.actions.restart_past": "go_on",
    "shop.clocks.actions.take_back_past": "undo",
    "jobs.flow.actions.hand_over": "hand-back",
    "jobs.flow.actions.open_drop_off": "check-in",
    "jobs.flow.actions.open_lines": "check-in, with the job of the line",
    "jobs.flow.actions.recorded": "the work that was recorded; rooms that it tells write their own",
    "shop.api.actions.once": "the action that it runs; its own row is an answer kept for a day",
    "shop.stock.actions.book_count": "the count, once for all its lots",
    "shop.stock.actions.take_back": "the order, which takes a receipt back",
    "shop.stock.actions.take": "tray and open_kit",
    "shop.stock.actions.put_back": "tray",
}
# A comment that silences a tool says which rule and, beside it, why.
SILENCED = re.compile(r"#\s*(type: ignore|noqa)")
REASONED = re.compile(r"#\s*type: ignore\[[\w, -]+\]\s*#\s*\w.{5,}|#\s*noqa: [A-Z0-9, ]+ - \w.{5,}")


def is_door(name: str) -> bool:
    """Whether a module may write: an actions.py, or a command that people run at the console."""
    return name.endswith(".actions") or ".management." in name


def writes_a_model(call: ast.Call) -> bool:
    """Whether a call writes rows: a writing method of a manager, a queryset or a row (not of a dict or a hash)."""
    if not isinstance(call.func, ast.Attribute) or call.func.attr not in WRITES:
        return False
    # dict.update, hash.update and the save of a picture take a positional
    return not (call.func.attr in ("update", "save") and call.args)


def asks_first(node: Function) -> bool:
    """Whether the first statement after the docstring is require(by, Can.…)."""
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return bool(body) and ast.unparse(body[0]).startswith("require(by, Can.")


def public_actions() -> dict[str, Function]:
    """Every public function of every actions.py."""
    return {
        f"{name}.{node.name}": node
        for name, tree in modules().items()
        if name.endswith(".actions")
        for node in tree.body
        if isinstance(node, Function) and not node.name.startswith("_")
    }


def calls_of_actions() -> dict[str, set[str]]:
    """What each function of every actions.py calls, by full dotted names."""
    found = {}
    for name, tree in modules().items():
        if name.endswith(".actions"):
            own = [node for node in tree.body if isinstance(node, Function)]
            names = {node.name for node in own}
            for node in own:
                inside = set(ast.walk(node))
                made = {full for call, full in called(tree) if call in inside}
                found[f"{name}.{node.name}"] = {f"{name}.{full}" if full in names else full for full in made}
    return found


def journaling() -> set[str]:
    """Every function of an actions.py that writes the journal, itself or through another."""
    found, calls = {"shop.journal.actions.write_all"}, calls_of_actions()
    while more := {name for name, made in calls.items() if made & found} - found:
        found |= more
    return found


def test_it_works() -> None:
    write, plain = ast.parse("Job.objects.create(n=1)"), ast.parse("known.update({'a': 1})")

    assert [writes_a_model(call) for call, _ in called(write)] == [True]
    assert [writes_a_model(call) for call, _ in called(plain)] == [False]
    assert len(public_actions()) > len(INNER)


def test_it_finds_one_caller_of_move() -> None:
    callers = {
        name
        for name, tree in modules().items()
        for _, full in called(tree)
        if full == "jobs.flow.actions.move"
    }

    assert callers == {"jobs.advance.actions"}


def test_it_finds_writes_in_actions_only() -> None:
    found = [
        f"{name}:{call.lineno} {ast.unparse(call.func)}"
        for name, tree in modules().items()
        if not is_door(name)
        for call, _ in called(tree)
        if writes_a_model(call)
    ]

    assert found == []


def test_it_finds_the_right_asked_first() -> None:
    asked = {name for name, node in public_actions().items() if asks_first(node)}
    not_asked = set(public_actions()) - asked

    assert not_asked == set(INNER)


def test_it_finds_the_journal_written_by_whoever_acts() -> None:
    acting = {
        name
        for name, node in public_actions().items()
        if "by" in {each.arg for each in (*node.args.args, *node.args.kwonlyargs)}
    }

    assert acting - journaling() == set(JOURNALED_BY_THE_CALLER)


def test_it_finds_the_journal_written_for_those_who_do_not() -> None:
    """Whoever calls one of them from an action reaches the journal."""
    callers = {name for name, made in calls_of_actions().items() if made & set(JOURNALED_BY_THE_CALLER)}

    assert {"jobs.handback.actions.hand_back", "jobs.tray.actions.end_part"} <= callers
    assert callers - journaling() - set(JOURNALED_BY_THE_CALLER) == set()


def test_it_finds_a_reason_beside_every_silenced_tool() -> None:
    found = []
    for path in paths("shop", "jobs", "tests", "deploy"):
        with path.open("rb") as file:
            comments = [each for each in tokenize.tokenize(file.readline) if each.type == tokenize.COMMENT]
        found += [
            f"{dotted(path)}:{each.start[0]} {each.string}"
            for each in comments
            if SILENCED.search(each.string) and not REASONED.search(each.string)
        ]

    assert found == []


def test_it_locks_inside_the_transaction_only() -> None:
    """PostgreSQL refuses a lock outside of one; tests that run in a transaction of their own do not see it."""
    found = []
    for name, tree in modules().items():
        for function in functions(tree):
            whole = [
                each
                for each in ast.walk(function)
                if isinstance(each, ast.With) and "atomic()" in ast.unparse(each.items[0])
            ]
            inside = {id(node) for each in whole for node in ast.walk(each)}
            calls = [node for node in ast.walk(function) if isinstance(node, ast.Call) and whole]
            found += [
                f"{name}:{node.lineno}"
                for node in calls
                if id(node) not in inside and ast.unparse(node.func).endswith(("locked", "select_for_update"))
            ]

    assert found == []
