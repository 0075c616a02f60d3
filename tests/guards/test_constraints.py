"""What the database itself states: raw SQL tries to break each, on the engine of the run."""

from typing import Any

import pytest
from django.conf import settings
from django.core.checks import run_checks
from django.db import connection
from django.db.models import Sum

from jobs.flow.models import Job
from shop.journal.apps import missing_triggers
from shop.journal.rules import drop_append_only_sql
from shop.stock.actions import move_by_hand, take
from shop.stock.models import Lot, Movement, Stored
from tests.guards import money_entries, room_constraints, store_constraints
from tests.guards.raw import POSTGRESQL, SUMMED, a_row, again, changed, refused, run
from tests.walk import Walk

# The constraint, what SQLite says instead of its name, the table whose newest row is written once more, with changes.
ONCE = [
    ("answer_once", "api_answer.person_uid, api_answer.key", "api_answer", {}),
    ("journal_subject_n", "journal_entry.subject, journal_entry.n", "journal_entry", {}),
    ("file_once", "files_file.sha256", "files_file", {}),
    ("job_one_open_an_item", "flow_job.item_id", "flow_job", {"number": 9001}),
    ("line_n", "flow_line.drop_off_id, flow_line.n", "flow_line", {}),
    ("letter_once", "post_letter.recipient, post_letter.purpose", "post_letter", {"message_id": "<b@c>"}),
    ("suppressed_once", "post_suppressed.address", "post_suppressed", {}),
    ("reminder_once", "reminders_reminder.clock_id, reminders_reminder.due", "reminders_reminder", {}),
    ("affected_once", "notices_affected.doubt_id, notices_affected.job_id", "notices_affected", {}),
    ("notices_answer_affected_id", "notices_answer.affected_id", "notices_answer", {}),
    ("round_n", "flow_round.job_id, flow_round.n", "flow_round", {}),
    ("signoff_signoff_round_id", "signoff_signoff.round_id", "signoff_signoff", {}),
    (
        "step_once_a_pass",
        "worksheet_stepdone.round_id, worksheet_stepdone.key, worksheet_stepdone.backs",
        "worksheet_stepdone",
        {},
    ),
    (
        "tray_part_once_a_pass",
        "tray_traypart.round_id, tray_traypart.key, tray_traypart.backs, tray_traypart.n",
        "tray_traypart",
        {"movement_id": None, "ending": "reused", "origin": "itself", "gas": "", "gas_rule": ""},
    ),
    *store_constraints.ONCE,
    *money_entries.ONCE,
    *room_constraints.ONCE,
    ("clock_once", "clocks_clock.item_id, clocks_clock.key", "clocks_clock", {}),
    ("restart_once", "clocks_restart.clock_id, clocks_restart.cause", "clocks_restart", {}),
    ("plan_version_once", "model_id, catalogue_planversion.key", "catalogue_planversion", {}),
    ("withdrawal_plan_version_id", "catalogue_withdrawal.plan_version_id", "catalogue_withdrawal", {}),
    ("advice_once", "advice_advice.what, advice_advice.side", "advice_advice", {}),
    ("draft_one_open", "drafts_draft.model_id, drafts_draft.key", "drafts_draft", {}),
    ("drafts_draft_issued_as_id", "drafts_draft.issued_as_id", "drafts_draft", {"key": "other"}),
    ("person_role_once", "staff_personrole.person_id, staff_personrole.role", "staff_personrole", {}),
    ("member_of_one_set", "gear_member.item_id", "gear_member", {}),
    ("hold_once_a_cause", "flow_hold.job_id, flow_hold.cause", "flow_hold", {}),
    ("workshop_workshop_only", "workshop_workshop.only", "workshop_workshop", {}),
]
LIFTED_ALONE = {"kind": "evidence", "lifted_at": "2026-11-25 12:00:00+00:00", "lifted_by_id": 1}
# The constraint, the table, and what its newest row is changed to.
KNOWN = [
    *room_constraints.KNOWN,
    ("job_leg_known", "flow_job", {"leg": "lost"}),
    ("round_outcome_known", "flow_round", {"outcome": "fine"}),
    ("line_contents_known", "flow_line", {"contents": "helium"}),
    ("letter_state", "post_letter", {"state": "lost"}),
    ("workshop_is_one_row", "workshop_workshop", {"only": False}),
    ("customer_kind_known", "customers_customer", {"kind": "club"}),
    ("customer_not_into_itself", "customers_customer", {"merged_into_id": "@id"}),
    ("item_not_into_itself", "gear_item", {"merged_into_id": "@id"}),
    ("item_not_from_itself", "gear_item", {"split_from_id": "@id"}),
    ("person_role_known", "staff_personrole", {"role": "owner"}),
    ("advice_side_known", "advice_advice", {"side": "sideways"}),
    ("advice_kind_known", "advice_advice", {"kind": "snorkel"}),
    ("model_kind_known", "catalogue_model", {"kind": "snorkel"}),
    ("line_state_known", "flow_line", {"state": "melted"}),
    ("line_taint_known", "flow_line", {"taint": "paint"}),
    ("hold_kind_known", "flow_hold", {"kind": "weather"}),
    ("hold_on_one_thing", "flow_hold", {"job_id": None}),
    ("hold_lifted_by_somebody", "flow_hold", {"kind": "parts", "lifted_at": "2026-11-25 12:00:00+00:00"}),
    ("hold_evidence_lifted_by_two", "flow_hold", LIFTED_ALONE),
    ("workshop_oxygen_threshold", "workshop_workshop", {"oxygen_threshold": 401}),
    ("item_oxygen_share", "gear_item", {"oxygen": 1001}),
    ("part_fit_known", "stock_part", {"fit_for": "helium", "fit_source": "a sheet"}),
    ("part_fit_with_its_source", "stock_part", {"fit_for": "air"}),
    ("member_from_before_to", "gear_member", {"to_day": "1999-01-01"}),
    *store_constraints.KNOWN,
    *money_entries.KNOWN,
    ("instrument_accuracy_of_known", "instruments_instrument", {"accuracy_of": "width"}),
    ("instrument_accuracy_of_scale", "instruments_instrument", {"accuracy": "1"}),
]
# The same for a row that must not point at itself.
THEMSELVES = [
    ("authorisation_under_another", "staff_authorisation", "under_id", "person_id"),
    ("job_follows_another", "flow_job", "follows_id", "id"),
    ("content_of_another", "stock_content", "part_id", "kit_id"),
    ("alternative_another", "alternatives_alternative", "part_id", "other_id"),
]
PERSON = {"about": "person", "attempt_id": None, "person_id": 1}
NO_GAS = {"gas": "", "gas_rule": ""}
TRAY = {"key": "x", "movement_id": None, "second_id": None} | NO_GAS
REUSED = TRAY | {"ending": "reused", "origin": "itself"}
# The same for rows that refuse any change: a copy with changes is written instead.
WRITTEN = [
    *money_entries.WRITTEN,
    *room_constraints.WRITTEN,
    ("part_ordered_above_its_minimum", "stock_part", {"minimum": 5, "up_to": 5}),
    (
        "lot_not_beyond_its_maker",
        "stock_lot",
        {"on_hand": 0, "use_by": "2020-01-01", "good_to": "2030-01-01"},
    ),
    ("attempt_verdict_known", "bench_attempt", {"verdict": "fine"}),
    ("calibration_period", "instruments_calibration", {"good_to": "1999-01-01"}),
    ("calibration_found_known", "instruments_calibration", {"found": "bent"}),
    ("check_found_known", "instruments_check", {"found": "not said"}),
    ("bad_period", "instruments_badperiod", {"to_day": "1999-01-01"}),
    ("doubt_about_one_thing", "notices_doubt", {"about": "weather"}),
    ("doubt_about_one_thing", "notices_doubt", {"about": "step"}),
    ("doubt_about_one_thing", "notices_doubt", {"attempt_id": None}),
    ("doubt_about_one_thing", "notices_doubt", {"lot_id": 1}),
    ("doubt_period", "notices_doubt", {"to_day": "2026-01-01"}),
    ("doubt_period", "notices_doubt", PERSON | {"from_day": None, "to_day": None}),
    ("doubt_period", "notices_doubt", PERSON | {"from_day": "2026-01-01", "to_day": None}),
    ("doubt_period", "notices_doubt", PERSON | {"from_day": "2026-01-02", "to_day": "2026-01-01"}),
    ("answer_to_one_thing", "notices_answer", {"doubt_id": 1}),
    ("answer_to_one_thing", "notices_answer", {"affected_id": None}),
    ("answer_to_one_thing", "notices_answer", {"became": "forgotten"}),
    ("answer_in_words", "notices_answer", {"words": ""}),
    ("count_line_of_pieces", "counts_line", {"n": 3}),
    ("count_line_of_pieces", "counts_line", {"n": 2, "counted": -1}),
    ("lot_not_below_zero", "stock_movement", {"verb": "take", "quantity": -99}),
    ("movement_sign", "stock_movement", {"verb": "receive", "quantity": -1}),
    ("movement_sign", "stock_movement", {"verb": "receive", "quantity": 0}),
    ("movement_sign", "stock_movement", {"verb": "take", "quantity": 1}),
    ("movement_sign", "stock_movement", {"verb": "move", "quantity": 0}),
    ("movement_sign", "stock_movement", {"verb": "lend", "quantity": 1}),
    ("signoff_outcome_known", "signoff_signoff", {"outcome": "fine"}),
    ("signoff_two_people", "signoff_signoff", {}),
    ("tray_renewed_from_a_lot", "tray_traypart", {"key": "x", "origin": "stock", "movement_id": None}),
    ("tray_renewed_from_a_lot", "tray_traypart", TRAY | {"ending": "renewed", "origin": "stock"}),
    ("tray_ending_known", "tray_traypart", TRAY | {"ending": "melted", "origin": "nothing yet"}),
    ("tray_origin_known", "tray_traypart", TRAY | {"ending": "scrapped", "origin": "found"}),
    ("tray_reused_is_itself", "tray_traypart", TRAY | {"ending": "reused", "origin": "nothing yet"}),
    ("tray_renewed_with_something", "tray_traypart", TRAY | {"ending": "renewed", "origin": "nothing yet"}),
    ("tray_lost_before_two", "tray_traypart", TRAY | {"ending": "lost", "origin": "nothing yet"}),
    ("tray_taken_for_a_gas", "tray_traypart", REUSED | {"gas": "air", "gas_rule": "nothing is stated"}),
    ("tray_alternative_from_a_lot", "tray_traypart", REUSED | {"alternative_id": 1}),
    ("tray_override_before_two", "tray_traypart", REUSED | {"overridden": "blocked"}),
    ("tray_override_before_two", "tray_traypart", REUSED | {"override": "There is no other."}),
    ("chunk_numbered", "live_chunk", {"n": 0}),
    ("attempt_has_a_source", "bench_attempt", {"instrument_id": None, "calibrated_to": None}),
    ("attempt_has_a_source", "bench_attempt", {"certificate": "C-1", "station": "a station"}),
    ("custody_where_known", "flow_custody", {"where": "nowhere"}),
    ("asked_how_known", "handback_asked", {"how": "pigeon"}),
    ("asked_once_a_day" if POSTGRESQL else "handback_asked.drop_off_id", "handback_asked", {}),
    ("signoff_alone_or_not", "signoff_signoff", {"single_handed": "Nobody else works here."}),
]


def test_it_works(walk: Walk) -> None:
    """A harmless copy and a harmless change pass, so that a refusal below is the constraint's own."""
    again("customers_customer", number=9001)
    again("worksheet_stepdone", backs=1)
    again("tray_traypart", backs=1, **REUSED)
    changed("stock_lot", number="TH-302-C")

    assert a_row("customers_customer")["number"] == 9001
    assert a_row("worksheet_stepdone")["backs"] == a_row("tray_traypart")["backs"] == 1
    assert a_row("stock_lot")["number"] == "TH-302-C"


@pytest.mark.parametrize(("name", "columns", "table", "changes"), ONCE, ids=[each[0] for each in ONCE])
def test_it_refuses_a_second(
    walk: Walk, name: str, columns: str, table: str, changes: dict[str, Any]
) -> None:
    if table == "flow_job":
        again("flow_line", n=99)
        changes = changes | {"line_id": a_row("flow_line")["id"]}

    if name == "hold_evidence_once_an_item":
        changes = changes | {"item_id": walk.item.pk}
    if name == "drafts_draft_issued_as_id":
        changed(table, issued_as_id=walk.house.plans["second_stage"].pk)

    if name == "live_logging_attempt_id":
        changed(table, state="ended", attempt_id=a_row("bench_attempt")["id"], closed_at=a_row(table)["at"])

    with refused(name if POSTGRESQL else columns):
        again(table, **changes)


@pytest.mark.parametrize(("name", "table", "changes"), KNOWN, ids=[each[0] for each in KNOWN])
def test_it_refuses_what_is_not_known(walk: Walk, name: str, table: str, changes: dict[str, Any]) -> None:
    row = a_row(table)

    with refused(name):
        changed(table, **{key: row["id"] if value == "@id" else value for key, value in changes.items()})


def test_it_lets_a_draft_end_once(walk: Walk) -> None:
    changed("drafts_draft", issued_as_id=walk.house.plans["second_stage"].pk)

    with refused("draft_ends_once"):
        changed("drafts_draft", set_aside_at=a_row("drafts_draft")["made_at"])


@pytest.mark.parametrize(("name", "table", "column", "own"), THEMSELVES)
def test_it_refuses_to_point_at_itself(walk: Walk, name: str, table: str, column: str, own: str) -> None:
    with refused(name):
        changed(table, **{column: a_row(table)[own]})


def test_it_lets_one_ended_and_one_open_job_stand(walk: Walk) -> None:
    assert sorted(Job.objects.filter(item=walk.item).values_list("leg", flat=True)) == [
        "checked_in",
        "handed_back",
    ]


@pytest.mark.parametrize(("name", "table", "changes"), WRITTEN)
def test_it_refuses_to_write(walk: Walk, name: str, table: str, changes: dict[str, Any]) -> None:
    if table == "signoff_signoff":
        changes = changes | {"round_id": a_row("flow_round")["id"]}
    if name == "signoff_two_people":
        changes = changes | {"second_id": a_row(table)["signer_id"]}

    with refused(name):
        again(table, **changes)


def test_it_keeps_the_sum_of_movements_on_hand(walk: Walk) -> None:
    """After everything that a job does and a taking that is refused and rolled back."""
    keeper, lot = walk.house.people["storekeeper"], walk.house.lots["TH-301"]
    move_by_hand(by=keeper, lot=lot, verb="take", quantity=2, subject="a bench trial")
    with refused(SUMMED):
        take(by=keeper, lot=lot, quantity=1, wanted_part="", subject="use:half")
        run("UPDATE stock_lot SET on_hand = -1 WHERE id = %s", lot.pk)

    sums = {
        lot.number: (lot.on_hand, lot.moved) for lot in Lot.objects.annotate(moved=Sum("movements__quantity"))
    }

    assert {number: pair for number, pair in sums.items() if pair[0] != pair[1]} == {}
    assert sums["TH-301-A"] == (7, 7)
    lying = {(row.lot_id, row.bin_id): row.on_hand for row in Stored.objects.all()}
    moved = Movement.objects.values_list("lot", "bin").annotate(moved=Sum("quantity"))
    assert lying == {(lot, place): count for lot, place, count in moved}


def test_it_counts_a_movement_whoever_writes_it(walk: Walk) -> None:
    again("stock_lot", number="TH-302-NEW", on_hand=0)
    lot = a_row("stock_lot")["id"]

    again("stock_movement", lot_id=lot, verb="receive", quantity=5)
    again("stock_movement", lot_id=lot, verb="take", quantity=-2)

    assert a_row("stock_lot")["on_hand"] == 3


def test_it_counts_a_movement_in_its_bin(walk: Walk) -> None:
    """Also the first of a lot in a bin; what is taken there must lie there, though the lot has it elsewhere."""
    again("stock_bin", label="A 9")
    place, lot = a_row("stock_bin")["id"], a_row("stock_lot")["id"]

    again("stock_movement", lot_id=lot, bin_id=place, verb="move", quantity=5)
    again("stock_movement", lot_id=lot, bin_id=place, verb="take", quantity=-2)
    with refused("stored_not_below_zero"):
        again("stock_movement", lot_id=lot, bin_id=place, verb="take", quantity=-4)

    row = a_row("stock_stored")
    assert (row["lot_id"], row["bin_id"], row["on_hand"]) == (lot, place, 3)


@pytest.mark.parametrize("on_hand", [9, 11, 0, -1])
def test_it_refuses_to_set_what_lies_in_a_bin(walk: Walk, on_hand: int) -> None:
    row = a_row("stock_stored")
    assert row["on_hand"] == 10

    with refused(SUMMED):
        changed("stock_stored", on_hand=on_hand)
    again("stock_bin", label="A 9")
    place = a_row("stock_bin")["id"]
    with refused(SUMMED):
        changed("stock_stored", bin_id=place)
    if on_hand:
        with refused(SUMMED):
            again("stock_stored", bin_id=place, on_hand=on_hand)

    assert a_row("stock_stored") == row


@pytest.mark.parametrize("on_hand", [9, 11, 0, -1])
def test_it_refuses_to_set_on_hand(walk: Walk, on_hand: int) -> None:
    """The newest lot had ten received and none taken."""
    row = a_row("stock_lot")
    assert row["on_hand"] == 10
    columns, marks = ", ".join(row), ", ".join("%s" for _ in row)
    upsert = "ON CONFLICT (id) DO UPDATE SET on_hand = excluded.on_hand"

    with refused(SUMMED):
        changed("stock_lot", on_hand=on_hand)
    with refused(SUMMED):
        run(
            f"INSERT INTO stock_lot ({columns}) VALUES ({marks}) {upsert}",
            *(row | {"on_hand": on_hand}).values(),
        )
    if not POSTGRESQL:
        with refused(SUMMED):
            run(
                f"INSERT OR REPLACE INTO stock_lot ({columns}) VALUES ({marks})",
                *(row | {"on_hand": on_hand}).values(),
            )

    assert a_row("stock_lot") == row


@pytest.mark.parametrize("on_hand", [1, 10, -1])
def test_it_refuses_a_lot_that_begins_with_something(walk: Walk, on_hand: int) -> None:
    with refused(SUMMED):
        again("stock_lot", number="TH-302-NEW", on_hand=on_hand)


@pytest.mark.parametrize("table", settings.APPEND_ONLY)
def test_it_refuses_any_edit_of_what_is_append_only(walk: Walk, table: str) -> None:
    row = a_row(table)
    columns, marks = ", ".join(f'"{name}"' for name in row), ", ".join("%s" for _ in row)
    edits = [
        f"UPDATE {table} SET id = id",
        f"DELETE FROM {table}",
        f"INSERT INTO {table} ({columns}) VALUES ({marks}) ON CONFLICT (id) DO UPDATE SET id = excluded.id",
        f"TRUNCATE {table} CASCADE"
        if POSTGRESQL
        else f"INSERT OR REPLACE INTO {table} ({columns}) VALUES ({marks})",
    ]
    run("SELECT 1")  # on PostgreSQL nothing is truncated while deferred constraints wait

    for edit in edits:
        with refused("append-only"):
            run(edit, *(row.values() if "INSERT" in edit else ()))

    assert a_row(table) == row


@pytest.mark.parametrize("table", settings.APPEND_ONLY)
def test_it_reports_a_missing_trigger(db: None, table: str) -> None:
    assert missing_triggers() == []

    for statement in drop_append_only_sql(connection.vendor, table):
        run(statement)

    kinds = ("change", "truncate") if POSTGRESQL else ("update", "delete")
    assert missing_triggers() == [f"{table}_no_{kind}" for kind in kinds]
    assert [each.id for each in run_checks(databases=["default"]) if "journal" in str(each.id)] == [
        "journal.E001",
        "journal.E001",
    ]


@pytest.mark.parametrize(("table", "name"), settings.OTHER_TRIGGERS)
def test_it_reports_a_missing_trigger_of_the_stock(db: None, table: str, name: str) -> None:
    run(f"DROP TRIGGER {name} ON {table}" if POSTGRESQL else f"DROP TRIGGER {name}")

    assert missing_triggers() == [name]
    assert [each.id for each in run_checks(databases=["default"]) if "journal" in str(each.id)] == [
        "journal.E001"
    ]
