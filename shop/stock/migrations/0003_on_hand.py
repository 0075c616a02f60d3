"""Triggers that make "sum of movements = on hand" true whatever is written: a movement moves it, nothing else does."""

from django.db import migrations

SQLITE = [
    "CREATE TRIGGER stock_movement_counts AFTER INSERT ON stock_movement BEGIN "
    "UPDATE stock_lot SET on_hand = on_hand + NEW.quantity WHERE id = NEW.lot_id; END",
    "CREATE TRIGGER stock_lot_sum BEFORE UPDATE OF on_hand ON stock_lot "
    "WHEN NEW.on_hand <> (SELECT COALESCE(SUM(quantity), 0) FROM stock_movement WHERE lot_id = NEW.id) "
    "BEGIN SELECT RAISE(ABORT, 'on hand is the sum of the movements'); END",
    "CREATE TRIGGER stock_lot_begins BEFORE INSERT ON stock_lot WHEN NEW.on_hand <> 0 "
    "BEGIN SELECT RAISE(ABORT, 'a lot begins with nothing on hand'); END",
]
POSTGRESQL = [
    "CREATE FUNCTION stock_movement_count() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    "UPDATE stock_lot SET on_hand = on_hand + NEW.quantity WHERE id = NEW.lot_id; RETURN NULL; END $$",
    "CREATE TRIGGER stock_movement_counts AFTER INSERT ON stock_movement "
    "FOR EACH ROW EXECUTE FUNCTION stock_movement_count()",
    "CREATE FUNCTION stock_lot_check() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
    "IF NEW.on_hand <> (SELECT COALESCE(SUM(quantity), 0) FROM stock_movement WHERE lot_id = NEW.id) THEN "
    "RAISE EXCEPTION 'on hand is the sum of the movements' USING ERRCODE = 'integrity_constraint_violation'; "
    "END IF; RETURN NEW; END $$",
    "CREATE TRIGGER stock_lot_sum BEFORE INSERT OR UPDATE OF on_hand ON stock_lot "
    "FOR EACH ROW EXECUTE FUNCTION stock_lot_check()",
]


def put_up(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("stock", "0002_append_only")]
    operations = [migrations.RunPython(put_up, migrations.RunPython.noop)]
