"""The form for a site's review policy, beside the catalogue's own numbers."""

from django import forms

from clinic.policy_form import PolicyRow, SitePolicyForm

from .science.measures import measure
from .science.policy import MEASURES_WITH_OVERRIDES, POLICY_FIELDS, StallPolicy
from .science.thresholds import Kind


class ReviewRow(PolicyRow):
    """One number of the review policy; some replace a number of the catalogue."""

    __slots__ = ()

    @property
    def note(self) -> str:
        """Return the catalogue's number that a site replaces, or the reason."""
        if words := self.catalogue_words:
            return f"Empty keeps the catalogue's: {words}"
        return super().note

    @property
    def catalogue_words(self) -> str:
        """Return the catalogue's own number, with its source, that a site replaces."""
        what, _, key = self.setting.name.partition("_")
        if key not in MEASURES_WITH_OVERRIDES:
            return ""
        about = measure(key)
        if what == "goal":
            has_goal = about.goal is not None
            return f"{about.goal:g}. {about.goal_note}" if has_goal else "none"
        found = about.threshold(Kind(what))
        if found is None:
            return "none"
        return f"{found.value:g} ({found.source.citation}; {found.source.mark})"


class PolicyForm(SitePolicyForm[StallPolicy]):
    """Every number of the policy; empty optional ones keep the catalogue's."""

    kind = StallPolicy
    settings = POLICY_FIELDS
    row = ReviewRow


class ResetForm(forms.Form):
    """The yes that puts every default back."""

    reset = forms.BooleanField(
        label="Yes, put every number back to its default",
        error_messages={"required": "Tick this to put every number back."},
    )
    is_reset = forms.CharField(widget=forms.HiddenInput, required=False)
