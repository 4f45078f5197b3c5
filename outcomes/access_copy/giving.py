"""The act of answering a person who asks for their own record."""

import json
from dataclasses import asdict, dataclass
from datetime import date, datetime
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string

from clinic.models import AuditEvent, Patient, User

from .. import audit
from .reading import read_copy
from .shape import Copy

STYLE = settings.BASE_DIR / "static" / "css" / "access_copy.css"


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessRequest:
    """Who asked and when, how the clinic knows who they are, and how it answers.

    `representative` and `authority` are empty when the person asks for themselves.
    """

    asked_on: date
    asked_by: str
    representative: str
    authority: str
    identity: str
    sent_how: str


@transaction.atomic
def give_copy(
    patient: Patient,
    *,
    by: User,
    asked: AccessRequest,
    at: datetime,
    request_id: str = "",
) -> bytes:
    """Put the request on record, then return the person's record as a zip."""
    detail = asdict(asked) | {"asked_on": asked.asked_on.isoformat()}
    AuditEvent.objects.record(
        audit.ACCESS_ANSWERED,
        by=by,
        patient=patient,
        request_id=request_id,
        **detail,
    )
    return zipped(read_copy(patient, asked_on=asked.asked_on, at=at))


def zipped(copy: Copy) -> bytes:
    """Return one page to read and the same as data; no file name says whose it is."""
    page = render_to_string(
        "outcomes/access_copy_page.html",
        {"copy": copy, "style": STYLE.read_text(encoding="utf-8")},
    )
    data = json.dumps(copy.data, ensure_ascii=False, indent=2)
    held = BytesIO()
    with ZipFile(held, "w", ZIP_DEFLATED) as files:
        files.writestr("record.html", page)
        files.writestr("record.json", data)
    return held.getvalue()
