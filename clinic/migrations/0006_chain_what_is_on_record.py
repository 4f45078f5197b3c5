"""Chain the lines that were written before there were chains, in their order.

The way back leaves the lines as they are: 0005 takes the columns away again.
"""

import secrets

from django.db import migrations

from clinic.sealing import digest_of, hash_of

AT_ONCE = 1_000
WRITE = """UPDATE clinic_auditevent SET chain_id = %s, position = %s, previous = %s,
    salt = %s, digest = %s, hash = %s WHERE id = %s"""


def chain_all(apps, schema_editor):
    """Give each site its chain, a thousand lines at a time."""
    Chain = apps.get_model("clinic", "AuditChain")
    Event = apps.get_model("clinic", "AuditEvent")
    chains = {}
    last = 0
    while lines := list(Event.objects.filter(pk__gt=last).order_by("pk")[:AT_ONCE]):
        for line in lines:
            if line.site_id not in chains:
                chains[line.site_id] = Chain.objects.create(site_id=line.site_id)
            seal(chains[line.site_id], line)
        last = lines[-1].pk
        with schema_editor.connection.cursor() as cursor:
            cursor.executemany(WRITE, [row_of(line) for line in lines])
    for chain in chains.values():
        chain.save()


def seal(chain, line):
    """Give a line its place after the head, and move the head."""
    chain.length += 1
    line.chain_id, line.position, line.previous = chain.pk, chain.length, chain.head
    line.salt = secrets.token_hex(16)
    line.digest = digest_of(line)
    line.hash = chain.head = hash_of(line)


def row_of(line):
    """Return what is written for a line."""
    return (
        line.chain_id,
        line.position,
        line.previous,
        line.salt,
        line.digest,
        line.hash,
        line.pk,
    )


class Migration(migrations.Migration):
    dependencies = [("clinic", "0005_room_for_a_chain")]
    operations = [migrations.RunPython(chain_all, migrations.RunPython.noop)]
