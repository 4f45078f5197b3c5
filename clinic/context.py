"""What every page's frame shows: navigation, site, demo mark."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from .access import Capability, can
from .entering import HAS_CODE
from .middleware import SIGNED_IN_AT


@dataclass(frozen=True, slots=True)
class NavLink:
    """One entry of the navigation."""

    label: str
    url: str
    is_current: bool


NAVIGATION = (
    ("Caseload", "outcomes:caseload", Capability.SEE_CASES),
    ("New patient", "outcomes:admit", Capability.TREAT),
    ("Exercises", "programs:exercises", Capability.SEE_CASES),
    ("Trends", "outcomes:trends", Capability.REVIEW_CASELOAD),
    ("My results", "outcomes:my_results", Capability.TREAT),
    ("Bring in records", "outcomes:import", Capability.BRING_IN_RECORDS),
    ("Export for audit", "outcomes:exports", Capability.EXPORT_FOR_AUDIT),
    ("Review policy", "outcomes:policy", Capability.EDIT_POLICY),
    ("People", "people", Capability.MANAGE_PEOPLE),
)


def page_frame(request: HttpRequest) -> dict[str, Any]:
    """Give each page its navigation and its site."""
    user = request.user
    if not user.is_authenticated:
        return {"nav": [], "is_demo": False}
    links = [
        NavLink(label, reverse(name), request.path == reverse(name))
        for label, name, capability in NAVIGATION
        if can(user, capability)
    ]
    return {
        "nav": links,
        "site": user.site,
        "is_demo": user.site.is_demo,
        "timeout": timeout_of(request),
    }


def timeout_of(request: HttpRequest) -> dict[str, Any]:
    """Tell the page when its session ends, in seconds from now."""
    whole = settings.SESSION_ABSOLUTE_SECONDS
    now = timezone.now().timestamp()
    used = now - request.session.get(SIGNED_IN_AT, now)
    return {
        "idle": settings.SESSION_COOKIE_AGE,
        "left": max(0, int(whole - used)),
        "warn": settings.SESSION_WARN_SECONDS,
        "has_code": request.session.get(HAS_CODE, False),
    }
