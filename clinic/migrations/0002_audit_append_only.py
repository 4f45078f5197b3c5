"""Let the database itself refuse to change or remove a line of the audit trail."""

from django.db import migrations

SQLITE = [
    f"""CREATE TRIGGER audit_refuses_{act} BEFORE {act.upper()} ON clinic_auditevent
    BEGIN SELECT RAISE(ABORT, 'The audit trail is append-only.'); END"""
    for act in ("update", "delete")
]
POSTGRESQL = [
    """CREATE FUNCTION audit_refuses() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION 'The audit trail is append-only.'; END $$""",
    """CREATE TRIGGER audit_refuses BEFORE UPDATE OR DELETE ON clinic_auditevent
    FOR EACH ROW EXECUTE FUNCTION audit_refuses()""",
]
UNDO = {
    "sqlite": [
        "DROP TRIGGER audit_refuses_update",
        "DROP TRIGGER audit_refuses_delete",
    ],
    "postgresql": [
        "DROP TRIGGER audit_refuses ON clinic_auditevent",
        "DROP FUNCTION audit_refuses()",
    ],
}


def install(apps, schema_editor):
    """Install the triggers for the database in use."""
    vendor = schema_editor.connection.vendor
    for statement in SQLITE if vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement, params=None)


def remove(apps, schema_editor):
    """Take the triggers away again."""
    for statement in UNDO[schema_editor.connection.vendor]:
        schema_editor.execute(statement, params=None)


class Migration(migrations.Migration):
    dependencies = [("clinic", "0001_initial")]
    operations = [migrations.RunPython(install, remove)]
