"""Question texts: which a clinic installed, and what to show where it has none.

Official questionnaire wording is never shipped. A clinic that may use it puts it
into a file (`wording_file.py`) and says who permits it; until then the catalogue's
own short labels are shown, which are for entry by a clinician.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from clinic.access import Capability, can
from clinic.models import AuditEvent, Site, User

from . import audit
from .models import Wording
from .science.measures import Item, Measure
from .wording_file import ANY_ACTIVITY, WordingError, WordingFile

CLINICIAN_ENTRY = "Short labels for entry by a clinician, not wording for patients"
DEMONSTRATION = "Demonstration wording, not the validated text"


@dataclass(frozen=True, slots=True)
class OptionText:
    """One answer as it is shown; the label of a bare number is empty."""

    code: str | int
    label: str


@dataclass(frozen=True, slots=True)
class ItemText:
    """One question as it is shown, with its answers in order."""

    key: str
    prompt: str
    options: tuple[OptionText, ...]


@dataclass(frozen=True, slots=True)
class MeasureTexts:
    """What to show for a measure; `note` says what kind of text it is."""

    intro: str
    items: tuple[ItemText, ...]
    note: str
    is_installed: bool
    is_demonstration: bool

    def item(self, key: str) -> ItemText:
        """Return one question; every named activity shares the same one."""
        found = next((item for item in self.items if item.key == key), None)
        return found or next(i for i in self.items if i.key == ANY_ACTIVITY)


def wording_for(site: Site, measure: str, language: str = "en") -> Wording | None:
    """Return the wording in use at a site, by measure key; runs one query."""
    return Wording.objects.filter(
        site=site, measure=measure, language=language, retired_at__isnull=True
    ).first()


def wordings_in_use(site: Site) -> QuerySet[Wording]:
    """Return everything installed at a site and not retired."""
    return Wording.objects.filter(site=site, retired_at__isnull=True).order_by(
        "measure", "language"
    )


def texts_for(wording: Wording | None, measure: Measure) -> MeasureTexts:
    """Return the installed texts, or the catalogue's short labels without them."""
    installed = wording.texts if wording else {}
    items = measure.items
    if measure.has_own_items:
        items = (Item(ANY_ACTIVITY, "The activity", measure.items[0].options),)
    return MeasureTexts(
        intro=installed.get("intro", ""),
        items=tuple(_item_text(i, installed.get("items", {})) for i in items),
        note=_note(wording),
        is_installed=wording is not None,
        is_demonstration=bool(wording and wording.is_demonstration),
    )


def _item_text(item: Item, installed: dict[str, dict[str, object]]) -> ItemText:
    """Put one question together; texts and short labels are never mixed."""
    texts = installed.get(item.key)
    if texts is None:
        options = tuple(OptionText(o.code, o.label) for o in item.options)
        return ItemText(item.key, item.label, options)
    labels: dict[str, str] = texts["options"]  # type: ignore[assignment]
    options = tuple(
        OptionText(option.code, labels.get(str(option.code), ""))
        for option in item.options
    )
    return ItemText(item.key, str(texts["prompt"]), options)


def _note(wording: Wording | None) -> str:
    if wording is None:
        return CLINICIAN_ENTRY
    return DEMONSTRATION if wording.is_demonstration else wording.name


@transaction.atomic
def install_wording(file: WordingFile, *, site: Site, by: User) -> tuple[Wording, bool]:
    """Put a wording to use and retire the one before; says whether it was new.

    Raises WordingError where the person does not lead the site, or where
    demonstration wording would reach a real clinic.
    """
    if by.site_id != site.pk or not can(by, Capability.EDIT_POLICY):
        raise WordingError([f"{by} is not a lead of {site}; only a lead installs it."])
    if file.is_demonstration and not site.is_demo:
        raise WordingError(
            ["Demonstration wording is for a demonstration clinic, not for patients."]
        )
    before = wording_for(site, file.measure, file.language)
    if before and _says_the_same(before, file):
        return before, False
    if before:
        before.retired_at = timezone.now()
        before.save(update_fields=["retired_at"])
    made = Wording.objects.create(site=site, installed_by=by, **file.columns)
    AuditEvent.objects.record(
        audit.WORDING_INSTALLED,
        by=by,
        wording=made.pk,
        measure=made.measure,
        language=made.language,
        name=made.name,
        retired=before.pk if before else None,
    )
    return made, True


def _says_the_same(held: Wording, file: WordingFile) -> bool:
    return all(getattr(held, name) == value for name, value in file.columns.items())
