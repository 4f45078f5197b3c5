"""The passphrase that the invented people share: made at random, shown once."""

from __future__ import annotations

import secrets

from django.contrib.auth.hashers import make_password
from django.db import transaction

from clinic.invitations import reset_sign_in
from clinic.models import Site, User

from .names import LEAD

WORDS = (
    "amber basil cedar dune ember fern grove heron iris jasper kelp larch maple nettle "
    "ochre pebble quartz reed slate tansy umber vetch willow yarrow acorn bramble "
    "cobalt drift flint gravel hazel indigo"
).split()
WORD_COUNT = 5  # 25 bits: enough for a sign-in that works on this machine only


def staff_of(site: Site) -> list[User]:
    """Return the people of the invented clinic, the lead first; runs one query."""
    people = User.objects.filter(site=site, is_active=True).order_by("pk")
    return sorted(people, key=lambda person: person.username != LEAD.username)


@transaction.atomic
def give_passphrase(site: Site) -> str:
    """Give everyone of the clinic one new passphrase and return it; nothing keeps it.

    Sessions that were open with the one before end.
    """
    people = staff_of(site)
    passphrase = " ".join(secrets.choice(WORDS) for _ in range(WORD_COUNT))
    hashed = make_password(passphrase)
    for person in people:
        reset_sign_in(person, by=people[0])
        person.password = hashed
        person.save(update_fields=["password"])
    return passphrase
