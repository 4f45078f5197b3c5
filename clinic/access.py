"""Who may do what: capabilities, the table of roles, and what a view declares."""

from collections.abc import Callable
from enum import StrEnum
from functools import wraps
from typing import TYPE_CHECKING, Any

from django.core.exceptions import PermissionDenied
from django.db import models
from django.http import HttpRequest, HttpResponse

if TYPE_CHECKING:
    from .models import User

View = Callable[..., HttpResponse]


class Role(models.TextChoices):
    """What a person at a site does there; an auditor has no account."""

    CLINICIAN = "clinician", "Clinician"
    LEAD = "lead", "Clinic lead"
    ADMINISTRATOR = "administrator", "Administrator"


class Capability(StrEnum):
    """One thing that a signed-in person may do."""

    USE_OWN_ACCOUNT = "use their own account"
    SEE_CASES = "see the site's cases"
    TREAT = "admit, log, review and discharge their own or covered cases"
    TREAT_ANY = "do the same for every case of the site"
    EDIT_POLICY = "change the site's review policy"
    BRING_IN_RECORDS = "bring in records from spreadsheets"
    REVIEW_CASELOAD = "review the outcomes of the whole caseload"
    EXPORT_FOR_AUDIT = "export de-identified records for an audit"
    ANSWER_ACCESS = "answer a patient who asks for their own records"
    READ_TRAIL = "see who looked at or changed a record"
    MANAGE_PEOPLE = "invite and deactivate people of the site"
    ADD_SITE = "add another site"


_CLINICIAN = frozenset(
    {Capability.USE_OWN_ACCOUNT, Capability.SEE_CASES, Capability.TREAT}
)
# The one table of roles; DEVELOPERS.md shows it and a test compares the two.
ROLE_GRANTS: dict[Role, frozenset[Capability]] = {
    Role.CLINICIAN: _CLINICIAN,
    Role.LEAD: _CLINICIAN
    | {
        Capability.TREAT_ANY,
        Capability.EDIT_POLICY,
        Capability.BRING_IN_RECORDS,
        Capability.REVIEW_CASELOAD,
        Capability.EXPORT_FOR_AUDIT,
        Capability.ANSWER_ACCESS,
        Capability.READ_TRAIL,
        Capability.MANAGE_PEOPLE,
    },
    Role.ADMINISTRATOR: frozenset(
        {
            Capability.USE_OWN_ACCOUNT,
            Capability.MANAGE_PEOPLE,
            Capability.ADD_SITE,
        }
    ),
}


def can(user: "User", capability: Capability) -> bool:
    """Tell whether an active person's role grants a capability."""
    if not user.is_authenticated or not user.is_active:
        return False
    return capability in ROLE_GRANTS[Role(user.role)]


def requires(capability: Capability) -> Callable[[View], View]:
    """Declare what a view asks of the person; without it they get a 403."""

    def declare(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not can(request.user, capability):  # type: ignore[arg-type]
                raise PermissionDenied(f"Your role does not {capability}.")
            return view(request, *args, **kwargs)

        guarded.access = capability  # type: ignore[attr-defined]
        return guarded

    return declare


def public(reason: str) -> Callable[[View], View]:
    """Declare that a view is open to anyone, and why."""

    def declare(view: View) -> View:
        view.login_required = False  # type: ignore[attr-defined]
        view.access = reason  # type: ignore[attr-defined]
        return view

    return declare
