"""Staying signed in, and signing in again over the page that was left open."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from ..access import Capability, public, requires
from ..entering import let_in
from ..forms import CodeForm, SignInForm
from ..held import never_held
from ..models import User
from ..second_step import has_second_step, must_set_up_now
from ..throttling import has_paused, paused_words
from .entering_code import open_with

NOT_YOURS = "This is not your passphrase. What you entered is still there; try again."
OWES_SET_UP = (
    "Your clinic now asks for a second step, and it is not set up. Keep what you "
    "typed somewhere, then load this page anew."
)


@requires(Capability.USE_OWN_ACCOUNT)
@never_held
@require_POST
def still_here(request: HttpRequest) -> HttpResponse:
    """Stay signed in: the request itself extends the session."""
    return HttpResponse(status=204)


@public("the way in again, over a page that was left open")
@sensitive_post_parameters("password", "code")
@require_POST
def sign_in_again(request: HttpRequest) -> HttpResponse:
    """Sign in without leaving the page; answer with the token that its forms need."""
    form = SignInForm(request, request.POST)
    if not form.is_valid():
        return refuse(paused_words() if has_paused(request) else NOT_YOURS)
    person: User = form.get_user()
    if must_set_up_now(person):
        return refuse(OWES_SET_UP)
    way, has_code = "passphrase, over an open page", has_second_step(person)
    if has_code:
        code = CodeForm(request.POST)
        if not code.is_valid() or not (opened := open_with(request, person, code)):
            return refuse(" ".join(map(str, code.errors.get("code", []))))
        way = opened
    let_in(request, person, way=way, has_code=has_code)
    return JsonResponse({"token": get_token(request)})


def refuse(words: str) -> HttpResponse:
    """Answer with what to do."""
    return JsonResponse({"error": words}, status=422)
