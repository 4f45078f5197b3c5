"""What every page's frame shows: navigation, site, demo mark."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from .access import Capability, can


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
    return {"nav": links, "site": user.site, "is_demo": user.site.is_demo}
