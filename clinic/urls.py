"""Addresses; the clinical pages are those of the outcomes app."""

from django.urls import include, path

from .views import (
    account,
    confirming,
    entering_code,
    health,
    people,
    sign_in_policy,
    signing_in,
    staying,
)

handler403 = "clinic.views.errors.refused"
handler500 = "clinic.views.errors.server_error"

urlpatterns = [
    path("health/", health.health, name="health"),
    path("ready/", health.ready, name="ready"),
    path("sign-in/", signing_in.sign_in, name="sign_in"),
    path("sign-in/code/", entering_code.enter_code, name="enter_code"),
    path("sign-in/again/", staying.sign_in_again, name="sign_in_again"),
    path("still-here/", staying.still_here, name="still_here"),
    path("sign-out/", signing_in.sign_out, name="sign_out"),
    path(
        "first-sign-in/<uidb64>/<token>/",
        signing_in.first_sign_in,
        name="first_sign_in",
    ),
    path("passphrase/", signing_in.change_passphrase, name="change_passphrase"),
    path("confirm/", confirming.confirm_passphrase, name="confirm_passphrase"),
    path("account/", account.account, name="account"),
    path("account/second-step/", account.set_up_second_step, name="second_step"),
    path("account/codes/", account.renew_codes, name="renew_codes"),
    path("account/go-on/", account.go_on, name="go_on"),
    path(
        "account/no-second-step/",
        account.remove_second_step,
        name="remove_second_step",
    ),
    path("account/sessions/<int:pk>/end/", account.end_session, name="end_session"),
    path("switch/", account.switch_person, name="switch_person"),
    path("people/sign-in/", sign_in_policy.sign_in_policy, name="sign_in_policy"),
    path("set-up/", people.set_up, name="set_up"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/one-time/", people.new_one_time, name="new_one_time"),
    path("people/<int:pk>/deactivate/", people.deactivate, name="deactivate"),
    path("people/<int:pk>/let-back-in/", people.let_back_in, name="let_back_in"),
    path("sites/new/", people.add_site, name="add_site"),
    path("", include("programs.urls")),
    path("", include("outcomes.urls")),
]
