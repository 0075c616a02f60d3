"""Triggers that make "sum of movements = on hand" true whatever is written: a movement moves it, nothing else does."""

from django.db import migrations

SUM = "(SELECT COALESCE(SUM(quantity), 0) FROM stock_movement WHERE lot_id = NEW.id)"
SAID = "on hand is the sum of the movements"
SQLITE = [
    "CREATE TRIGGER stock_movement_counts AFTER INSERT ON stock_movement BEGIN "
    "UPDATE stock_lot SET on_hand = on_hand + NEW.quantity WHERE id = NEW.lot_id; END",
    f"CREATE TRIGGER stock_lot_sum BEFORE UPDATE OF on_hand ON stock_lot "
    f"WHEN NEW.on_hand <> {SUM} BEGIN SELECT RAISE(ABORT, '{SAID}'); END",
    # A new lot has no movements; one that INSERT OR REPLACE puts in another's place has.
    f"CREATE TRIGGER stock_lot_begins BEFORE INSERT ON stock_lot "
    f"WHEN NEW.on_hand <> {SUM} BEGIN SELECT RAISE(ABORT, '{SAID}'); END",
]
POSTGRESQL = [
    "CREATE FUNCTION stock_movement_count() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    "UPDATE stock_lot SET on_hand = on_hand + NEW.quantity WHERE id = NEW.lot_id; RETURN NULL; END $$",
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
]


def put_up(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("stock", "0002_append_only")]
    operations = [migrations.RunPython(put_up, migrations.RunPython.noop)]
