"""Application set-up."""

from django.apps import AppConfig


class ProgramsConfig(AppConfig):
    """The programs app."""

    name = "programs"
