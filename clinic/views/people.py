"""The people of a site, the very first site, and further sites."""

import secrets
from pathlib import Path

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_http_methods, require_POST

from .. import invitations
from ..access import Capability, Role, can, public, requires
from ..forms import PersonForm, SetUpForm, SiteForm
from ..htmx import AppRequest
from ..models import Site, User


def roles_to_give(by: User) -> list[Role]:
    """Return the roles that a person may give: nobody raises others above them."""
    if by.role == Role.ADMINISTRATOR:
        return list(Role)
    return [Role.CLINICIAN, Role.LEAD]


@requires(Capability.MANAGE_PEOPLE)
@require_http_methods(["GET", "POST"])
def people(request: AppRequest) -> HttpResponse:
    """List the site's people and invite one."""
    form = PersonForm(request.POST or None, roles=roles_to_give(request.user))
    if request.method == "POST" and form.is_valid():
        person = invitations.add_person(
            site=request.user.site, by=request.user, **form.cleaned_data
        )
        return show_one_time(request, person)
    listed = request.user.site.people.order_by("-is_active", "last_name", "username")
    context = {
        "form": form,
        "people": listed,
        "may_add_site": can(request.user, Capability.ADD_SITE),
    }
    status = 422 if form.errors else 200
    return render(request, "clinic/people.html", context, status=status)


def show_one_time(request: HttpRequest, person: User) -> HttpResponse:
    """Show the one-time sign-in once, to be handed to the person."""
    link = request.build_absolute_uri(invitations.one_time_path(person))
    return render(
        request, "clinic/one_time.html", {"person": person, "one_time_url": link}
    )


def find_colleague(request: AppRequest, pk: int) -> User:
    """Return another person of the site whose role one may give, or 404."""
    colleagues = request.user.site.people.exclude(pk=request.user.pk)
    return get_object_or_404(
        colleagues.filter(role__in=roles_to_give(request.user)), pk=pk
    )


@requires(Capability.MANAGE_PEOPLE)
@require_POST
def new_one_time(request: AppRequest, pk: int) -> HttpResponse:
    """Withdraw a forgotten passphrase and show a new one-time sign-in."""
    person = find_colleague(request, pk)
    invitations.reset_sign_in(person, by=request.user)
    return show_one_time(request, person)


@requires(Capability.MANAGE_PEOPLE)
@require_POST
def set_active(request: AppRequest, pk: int) -> HttpResponse:
    """Deactivate a person who left, or let them back in."""
    person = find_colleague(request, pk)
    is_active = request.POST.get("is_active") == "yes"
    invitations.set_active(person, by=request.user, is_active=is_active)
    word = "can sign in again" if is_active else "can no longer sign in"
    messages.success(request, f"{person} {word}.")
    return redirect("people")


@requires(Capability.ADD_SITE)
@require_http_methods(["GET", "POST"])
def add_site(request: AppRequest) -> HttpResponse:
    """Add another site and its first administrator."""
    site_form = SiteForm(request.POST or None)
    person_form = PersonForm(
        request.POST or None, roles=[Role.ADMINISTRATOR, Role.LEAD]
    )
    if request.method == "POST" and site_form.is_valid() and person_form.is_valid():
        site = invitations.add_site(site_form.cleaned_data["name"], by=request.user)
        person = invitations.add_person(
            site=site, by=request.user, **person_form.cleaned_data
        )
        return show_one_time(request, person)
    context = {"site_form": site_form, "person_form": person_form}
    return render(request, "clinic/add_site.html", context)


def set_up_code() -> str:
    """Return this installation's set-up code, kept in the data folder."""
    path = Path(settings.DATA_DIR) / "setup-code"
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(12), encoding="ascii")
    return path.read_text(encoding="ascii").strip()


@public("the very first site, with the set-up code of the server")
@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest) -> HttpResponse:
    """Make the first site and its lead; afterwards this page does not exist."""
    if Site.objects.exists():
        raise Http404
    code = set_up_code()
    form = SetUpForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if constant_time_compare(form.cleaned_data["code"], code):
            return make_first_site(request, form)
        form.add_error("code", "This is not the code in the file setup-code.")
    return render(request, "clinic/set_up.html", {"form": form})


def make_first_site(request: HttpRequest, form: SetUpForm) -> HttpResponse:
    """Make the site, and take its first lead to the one-time sign-in."""
    try:
        site = invitations.add_site(form.cleaned_data["name"])
        lead = invitations.add_person(
            site=site, username=form.cleaned_data["username"], role=Role.LEAD
        )
    except ValidationError as error:
        form.add_error(None, error)
        return render(request, "clinic/set_up.html", {"form": form}, status=422)
    return redirect(invitations.one_time_path(lead))
