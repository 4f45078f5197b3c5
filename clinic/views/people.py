"""The people of a site, the very first site, and further sites."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_http_methods, require_POST

from .. import invitations
from ..access import Capability, Role, can, public, requires
from ..forms import PersonForm, SetUpForm, SiteForm
from ..htmx import AppRequest
from ..models import User
from ..posting import posted, saved, show_form
from ..set_up import first_person, is_set_up, set_up_code


def roles_to_give(by: User) -> list[Role]:
    """Return the roles that a person may give: nobody raises others above them."""
    if can(by, Capability.ADD_SITE):
        return list(Role)
    return [Role.CLINICIAN, Role.LEAD]


@requires(Capability.MANAGE_PEOPLE)
@require_http_methods(["GET", "POST"])
def people(request: AppRequest) -> HttpResponse:
    """List the site's people and invite one."""
    roles = roles_to_give(request.user)
    form, made = PersonForm(posted(request), roles=roles), list[User]()

    def act() -> str:
        made.append(
            invitations.add_person(
                site=request.user.site, by=request.user, **form.cleaned_data
            )
        )
        return reverse("people")

    done = saved(request, act, form)
    if made:
        return show_one_time(request, made[0])
    return done or show_form(
        request,
        "clinic/people.html",
        form,
        people=listed_people(request.user, roles),
        may_add_site=can(request.user, Capability.ADD_SITE),
    )


def listed_people(by: User, roles: list[Role]) -> list[tuple[User, bool]]:
    """Return the site's people, each with whether one may change their sign-in."""
    found = by.site.people.order_by("-is_active", "last_name", "username")
    return [(one, one.pk != by.pk and one.role in roles) for one in found]


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
    if not person.is_active:
        messages.error(request, f"{person} is deactivated. Let them back in first.")
        return redirect("people")
    invitations.reset_sign_in(person, by=request.user)
    return show_one_time(request, person)


@requires(Capability.MANAGE_PEOPLE)
@require_POST
def set_active(request: AppRequest, pk: int) -> HttpResponse:
    """Deactivate a person who left, or let them back in."""
    person = find_colleague(request, pk)
    is_active = request.POST.get("is_active") == "yes"
    if is_active != person.is_active:
        invitations.set_active(person, by=request.user, is_active=is_active)
    word = "can sign in again" if is_active else "can no longer sign in"
    messages.success(request, f"{person} {word}.")
    return redirect("people")


@requires(Capability.ADD_SITE)
@require_http_methods(["GET", "POST"])
def add_site(request: AppRequest) -> HttpResponse:
    """Add another site and its first person."""
    site_form = SiteForm(posted(request))
    roles = [Role.LEAD, Role.ADMINISTRATOR]
    person_form, made = PersonForm(posted(request), roles=roles), list[User]()

    def act() -> str:
        name = site_form.cleaned_data["name"]
        site = invitations.add_site(name, by=request.user)
        made.append(
            invitations.add_person(
                site=site, by=request.user, **person_form.cleaned_data
            )
        )
        return reverse("people")

    done = saved(request, act, site_form, person_form)
    if made:
        return show_one_time(request, made[0])
    return done or show_form(
        request,
        "clinic/add_site.html",
        site_form,
        person_form,
        person_form=person_form,
    )


@public("the very first site, with the set-up code of the server")
@require_http_methods(["GET", "POST"])
def set_up(request: HttpRequest) -> HttpResponse:
    """Make the first site and its lead; afterwards this page does not exist."""
    if is_set_up():
        raise Http404
    code, form = set_up_code(), SetUpForm(posted(request))
    if request.method == "POST" and form.is_valid():
        if constant_time_compare(form.cleaned_data["code"], code):
            return make_first_site(request, form)
        form.add_error("code", "This is not the code in the file setup-code.")
    return show_form(request, "clinic/set_up.html", form)


def make_first_site(request: HttpRequest, form: SetUpForm) -> HttpResponse:
    """Make the site, and take its first lead to the one-time sign-in."""
    if waiting := first_person(form.cleaned_data["username"]):
        return redirect(invitations.one_time_path(waiting))
    try:
        with transaction.atomic():
            site = invitations.add_site(form.cleaned_data["name"])
            lead = invitations.add_person(
                site=site, username=form.cleaned_data["username"], role=Role.LEAD
            )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return show_form(request, "clinic/set_up.html", form)
    return redirect(invitations.one_time_path(lead))
