"""The act of handing a case to another system: on record first, then written."""

import json
from datetime import datetime

from django.db import transaction

from clinic.models import AuditEvent, Episode, User

from .. import audit
from .bundle import build_bundle
from .content import Content
from .reading import read_content


@transaction.atomic
def send_case(
    case: Episode, *, by: User, recipient: str, at: datetime, request_id: str = ""
) -> bytes:
    """Put on record who gets the case and how much it is, and return it as JSON."""
    content = read_content(case, at=at)
    AuditEvent.objects.record(
        audit.BUNDLE_MADE,
        by=by,
        patient=case.patient,
        request_id=request_id,
        episode=case.pk,
        recipient=recipient,
        **counts(content),
    )
    written = json.dumps(build_bundle(content), ensure_ascii=False, indent=2)
    return written.encode()


def counts(content: Content) -> dict[str, int]:
    """Return how much of each kind a bundle holds."""
    return {
        "questionnaires": len(content.answered),
        "scores": len(content.scored),
        "pain_ratings": len(content.rated),
    }
