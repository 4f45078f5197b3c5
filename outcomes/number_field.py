"""A field for a measured number, typed on a number pad."""

import math
from typing import Any

from django import forms
from django.core.exceptions import ValidationError


class NumberField(forms.CharField):
    """A number typed on a number pad, with a point or a comma; empty stays empty."""

    def __init__(
        self,
        *,
        label: str,
        short: str = "",
        is_whole: bool = False,
        help_text: str = "",
    ) -> None:
        mode = "numeric" if is_whole else "decimal"
        self.is_whole = is_whole
        # Shown under a heading that names the side; the label stands for itself.
        self.short = short or label
        super().__init__(
            required=False,
            label=label,
            help_text=help_text,
            widget=forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off"}),
            max_length=20,
        )

    def clean(self, value: Any) -> float | None:
        """Return the number, or None where nothing was typed."""
        raw = super().clean(value).strip().replace(",", ".")
        if not raw:
            return None
        try:
            found = float(raw)
        except ValueError:
            found = math.nan
        if not math.isfinite(found):
            raise ValidationError("Write a number, for example 21.5.")
        if self.is_whole and not found.is_integer():
            raise ValidationError("Write a whole number.")
        return found
