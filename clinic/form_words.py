"""What every field says when it is not filled in well: what to do, in our words.

Django's own words stand on the classes of fields and validators; they are replaced
there, once, when the project starts, so that no form has to repeat them.
"""

from django import forms
from django.contrib.auth import get_user_model
from django.core import validators
from django.db import models

FILL_IN = "Fill this in."
CHOOSE = "Choose one of these."
USER_NAME = (
    "Write the user name without spaces: letters, digits and the signs @ . + - _ only."
)
FIELD_WORDS: dict[type[forms.Field], dict[str, str]] = {
    forms.Field: {"required": FILL_IN},
    forms.ChoiceField: {
        "required": CHOOSE,
        "invalid_choice": "%(value)s is not offered here. Choose one of these.",
    },
    forms.ModelChoiceField: {"required": CHOOSE, "invalid_choice": CHOOSE},
    forms.MultipleChoiceField: {
        "required": "Choose at least one.",
        "invalid_choice": "%(value)s is not offered here. Choose among these.",
    },
    forms.IntegerField: {"invalid": "Write a whole number, like 12."},
    forms.FloatField: {"invalid": "Write a number, like 12.5."},
    forms.DecimalField: {"invalid": "Write a number, like 12.5."},
    forms.DateField: {"invalid": "Write the day like 2026-12-31."},
    forms.FileField: {"required": "Choose the file."},
}
MODEL_WORDS = {
    "null": FILL_IN,
    "blank": FILL_IN,
    "invalid_choice": "%(value)r is not offered here. Choose one of these.",
}
VALIDATOR_WORDS: dict[type[validators.BaseValidator], str] = {
    validators.MaxValueValidator: "Write at most %(limit_value)s.",
    validators.MinValueValidator: "Write at least %(limit_value)s.",
    validators.MaxLengthValidator: (
        "Shorten this to at most %(limit_value)d characters; it has %(show_value)d."
    ),
}


def use_own_words() -> None:
    """Replace the words of every field; forms that name their own keep them."""
    for field, words in FIELD_WORDS.items():
        field.default_error_messages = {**field.default_error_messages, **words}
    models.Field.default_error_messages = {
        **models.Field.default_error_messages,
        **MODEL_WORDS,
    }
    for validator, text in VALIDATOR_WORDS.items():
        validator.message = text
    username = get_user_model()._meta.get_field("username")
    for rule in username.validators:
        if isinstance(rule, validators.RegexValidator):
            rule.message = USER_NAME
