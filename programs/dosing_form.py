"""The form for a site's dosing numbers, and whether suggestions are shown."""

from typing import Any

from django import forms

from clinic.policy_form import SitePolicyForm

from .dosing.limits import DOSING_FIELDS, DosingPolicy
from .models import SiteDosing


class DosingForm(SitePolicyForm[DosingPolicy]):
    """Every dosing number of the site, and whether suggestions are shown."""

    kind = DosingPolicy
    settings = DOSING_FIELDS
    is_advice_on = forms.BooleanField(required=False, label="Show suggestions")

    def __init__(self, *args: Any, stored: SiteDosing | None, **kwargs: Any) -> None:
        super().__init__(*args, stored=stored.values if stored else {}, **kwargs)
        self.is_stored_on = stored.is_advice_on if stored else True
        self.fields["is_advice_on"].initial = self.is_stored_on

    def advice_stored_words(self) -> str:
        """Say how suggestions are set where somebody else's choice is in the way."""
        if not self.is_stale:
            return ""
        is_same = self.cleaned_data["is_advice_on"] == self.is_stored_on
        return "" if is_same else "on" if self.is_stored_on else "off"
