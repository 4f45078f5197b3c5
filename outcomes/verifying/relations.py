"""Relations that no constraint of the database can hold: across tables, over time.

Most are found by the shape of the tables, so that a new table is checked from its
first day.
"""

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db.models import F, ForeignKey, Model, OneToOneField, Q

from clinic.models.base import SiteRecord

from .faults import Counted, Fault, named

PROJECT = ("clinic", "programs", "outcomes")
LOOK = "Look at the row with whoever looks after this installation; restore a backup "
LOOK += "where it shows when this began."


def site_tables() -> Iterator[Any]:
    """Yield every table whose rows belong to a site."""
    for app in PROJECT:
        for model in apps.get_app_config(app).get_models():
            if issubclass(model, SiteRecord):
                yield model


def links(model: type[Model], name: str) -> bool:
    """Whether a table links to a row by a column of that name."""
    fields = {field.name: field for field in model._meta.concrete_fields}
    return isinstance(fields.get(name), ForeignKey)


def same_site(counted: Counted) -> Iterator[Fault]:
    """Yield rows that belong to another site than the row they hang on."""
    for model in site_tables():
        for field in model._meta.concrete_fields:
            to = field.related_model
            if not (isinstance(to, type) and issubclass(to, SiteRecord)):
                continue
            strays = model._default_manager.filter(
                ~Q(**{f"{field.name}__site": F("site")}),
                **{f"{field.name}__isnull": False},
            )
            says = f"belongs to another site than its {field.verbose_name}."
            yield from named(strays, says=says, do=LOOK)


def same_person(counted: Counted) -> Iterator[Fault]:
    """Yield rows whose person is not the person of their case."""
    for model in site_tables():
        if links(model, "episode") and links(model, "patient"):
            strays = model._default_manager.exclude(patient=F("episode__patient"))
            says = "names another patient than its case."
            yield from named(strays, says=says, do=LOOK)


def same_case(counted: Counted) -> Iterator[Fault]:
    """Yield rows whose visit belongs to another case than they do."""
    for model in site_tables():
        if links(model, "episode") and links(model, "visit"):
            strays = model._default_manager.filter(visit__isnull=False).exclude(
                episode=F("visit__episode")
            )
            says = "hangs on a visit of another case."
            yield from named(strays, says=says, do=LOOK)


def replaced_rows(counted: Counted) -> Iterator[Fault]:
    """Yield corrections that came before what they correct."""
    for model in site_tables():
        fields = {field.name: field for field in model._meta.concrete_fields}
        replaces = fields.get("replaces")
        if isinstance(replaces, OneToOneField):
            backwards = model._default_manager.filter(replaces__gte=F("pk"))
            says = "replaces a row that was made after it, or itself."
            yield from named(backwards, says=says, do=LOOK)
