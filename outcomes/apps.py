"""Application set-up."""

from django.apps import AppConfig


class OutcomesConfig(AppConfig):
    """The outcomes app."""

    name = "outcomes"
