"""The people of a site, the very first site, and further sites."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_http_methods, require_POST

from .. import invitations, leaving
from ..access import Capability, Role, can, public, requires
from ..forms import DeactivateForm, PersonForm, SetUpForm, SiteForm
from ..htmx import AppRequest
from ..models import Episode, User
from ..posting import posted, saved, saved_before, show_form
from ..set_up import first_person, is_set_up, set_up_code
from ..templatetags.clinic_format import plural


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
@require_http_methods(["GET", "POST"])
def deactivate(request: AppRequest, pk: int) -> HttpResponse:
    """Keep out a person who left, deciding in the same step on their cases."""
    person = find_colleague(request, pk)
    if refusal := refuse_deactivation(request, person):
        return refusal
    left, people = leaving.left_by(person), leaving.who_treats(person.site)
    form = DeactivateForm(
        posted(request),
        has_cases=left.has_any,
        people=people.exclude(pk=person.pk),
    )

    def act() -> str:
        moved = leaving.deactivate(person, by=request.user, **form.decision)
        say_left(request, person, moved)
        return reverse("people")

    return saved(request, act, form) or show_form(
        request, "clinic/deactivate.html", form, person=person, left=left
    )


def refuse_deactivation(request: AppRequest, person: User) -> HttpResponse | None:
    """Turn back where the person is out already, or is the last lead."""
    if request.method == "POST" and (earlier := saved_before(request)):
        return redirect(earlier)
    if not person.is_active:
        messages.error(request, f"{person} is deactivated already.")
    elif leaving.is_last_lead(person):
        messages.error(
            request,
            f"{person} is the only clinic lead who signs in. Invite another lead "
            "first.",
        )
    else:
        return None
    return redirect("people")


def say_left(request: AppRequest, person: User, moved: list[Episode]) -> None:
    """Tell that a person is out, and where their cases went."""
    messages.success(request, f"{person} can no longer sign in.")
    if moved:
        cases = plural(len(moved), "case")
        to = moved[0].clinician
        messages.success(request, f"{cases} of theirs now on the caseload of {to}.")


@requires(Capability.MANAGE_PEOPLE)
@require_POST
def let_back_in(request: AppRequest, pk: int) -> HttpResponse:
    """Let a deactivated person sign in again."""
    person = find_colleague(request, pk)
    if not person.is_active:
        invitations.let_back_in(person, by=request.user)
    messages.success(request, f"{person} can sign in again.")
    return redirect("people")


@requires(Capability.ADD_SITE)
@require_http_methods(["GET", "POST"])
def add_site(request: AppRequest) -> HttpResponse:
    """Add another site and its first person."""
    site_form = SiteForm(posted(request))
    roles = [Role.LEAD, Role.ADMINISTRATOR]
    person_form, made = PersonForm(posted(request), roles=roles), list[User]()

    def act() -> str:
        made.append(make_site(site_form, person_form, by=request.user))
        return reverse("people")

    try:
        done = saved(request, act, site_form, person_form)
    except ValidationError as error:
        done = None
        site_form.add_error(None, ValidationError(error.messages))
    if made:
        return show_one_time(request, made[0])
    return done or show_form(
        request,
        "clinic/add_site.html",
        site_form,
        person_form,
        person_form=person_form,
    )


def make_site(site_form: SiteForm, person_form: PersonForm, *, by: User) -> User:
    """Make a further site and return its first person; raises ValidationError."""
    site = invitations.add_site(site_form.cleaned_data["name"], by=by)
    return invitations.add_person(site=site, by=by, **person_form.cleaned_data)


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
