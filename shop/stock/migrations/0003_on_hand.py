"""Triggers that make "sum of movements = on hand" true whatever is written: a movement moves it, nothing else does.
What a part is counted in stays once it has lots: what was counted would mean something else.

It holds for each lot and for each lot in each bin; the lot is counted first, so that its lock keeps its bins in turn.
"""

from django.db import migrations

SUM = "(SELECT COALESCE(SUM(quantity), 0) FROM stock_movement WHERE lot_id = NEW.id)"
IN_BIN = "(SELECT COALESCE(SUM(quantity), 0) FROM stock_movement WHERE lot_id = NEW.lot_id AND bin_id = NEW.bin_id)"
MOVES = (
    "UPDATE stock_lot SET on_hand = on_hand + NEW.quantity WHERE id = NEW.lot_id; "
    "UPDATE stock_stored SET on_hand = on_hand + NEW.quantity WHERE lot_id = NEW.lot_id AND bin_id = NEW.bin_id; "
    "INSERT INTO stock_stored (lot_id, bin_id, on_hand) SELECT NEW.lot_id, NEW.bin_id, NEW.quantity "
    "WHERE NOT EXISTS (SELECT 1 FROM stock_stored WHERE lot_id = NEW.lot_id AND bin_id = NEW.bin_id);"
)
SAID = "on hand is the sum of the movements"
SQLITE = [
    f"CREATE TRIGGER stock_movement_counts AFTER INSERT ON stock_movement BEGIN {MOVES} END",
    f"CREATE TRIGGER stock_lot_sum BEFORE UPDATE OF on_hand ON stock_lot "
    f"WHEN NEW.on_hand <> {SUM} BEGIN SELECT RAISE(ABORT, '{SAID}'); END",
    # A new lot has no movements; one that INSERT OR REPLACE puts in another's place has.
    f"CREATE TRIGGER stock_lot_begins BEFORE INSERT ON stock_lot "
    f"WHEN NEW.on_hand <> {SUM} BEGIN SELECT RAISE(ABORT, '{SAID}'); END",
    f"CREATE TRIGGER stock_stored_sum BEFORE UPDATE ON stock_stored "
    f"WHEN NEW.on_hand <> {IN_BIN} BEGIN SELECT RAISE(ABORT, '{SAID}'); END",
    f"CREATE TRIGGER stock_stored_begins BEFORE INSERT ON stock_stored "
    f"WHEN NEW.on_hand <> {IN_BIN} BEGIN SELECT RAISE(ABORT, '{SAID}'); END",
]
POSTGRESQL = [
    f"CREATE FUNCTION stock_movement_count() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {MOVES} RETURN NULL; END $$",
    "CREATE TRIGGER stock_movement_counts AFTER INSERT ON stock_movement "
    "FOR EACH ROW EXECUTE FUNCTION stock_movement_count()",
    f"CREATE FUNCTION stock_lot_check() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    f"IF NEW.on_hand <> {SUM} THEN "
    f"RAISE EXCEPTION '{SAID}' USING ERRCODE = 'integrity_constraint_violation'; "
    f"END IF; RETURN NEW; END $$",
    "CREATE TRIGGER stock_lot_sum BEFORE UPDATE OF on_hand ON stock_lot "
    "FOR EACH ROW EXECUTE FUNCTION stock_lot_check()",
    "CREATE TRIGGER stock_lot_begins BEFORE INSERT ON stock_lot "
    "FOR EACH ROW EXECUTE FUNCTION stock_lot_check()",
    f"CREATE FUNCTION stock_stored_check() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    f"IF NEW.on_hand <> {IN_BIN} THEN "
    f"RAISE EXCEPTION '{SAID}' USING ERRCODE = 'integrity_constraint_violation'; "
    f"END IF; RETURN NEW; END $$",
    "CREATE TRIGGER stock_stored_sum BEFORE UPDATE ON stock_stored "
    "FOR EACH ROW EXECUTE FUNCTION stock_stored_check()",
    "CREATE TRIGGER stock_stored_begins BEFORE INSERT ON stock_stored "
    "FOR EACH ROW EXECUTE FUNCTION stock_stored_check()",
]


KEPT = "a part with lots keeps its unit"
LOTS = "NEW.unit <> OLD.unit AND EXISTS (SELECT 1 FROM stock_lot WHERE part_id = OLD.id)"
SQLITE.append(
    f"CREATE TRIGGER stock_part_unit BEFORE UPDATE OF unit ON stock_part "
    f"WHEN {LOTS} BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
)
POSTGRESQL += [
    f"CREATE FUNCTION stock_part_check() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    f"IF {LOTS} THEN RAISE EXCEPTION '{KEPT}' USING ERRCODE = 'integrity_constraint_violation'; "
    f"END IF; RETURN NEW; END $$",
    "CREATE TRIGGER stock_part_unit BEFORE UPDATE OF unit ON stock_part "
    "FOR EACH ROW EXECUTE FUNCTION stock_part_check()",
]


def put_up(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("stock", "0002_append_only")]
    operations = [migrations.RunPython(put_up, migrations.RunPython.noop)]
