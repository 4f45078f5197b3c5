"""Application set-up: the start-up checks, and what fields say when left unfilled."""

from django.apps import AppConfig


class ClinicConfig(AppConfig):
    """The clinic app."""

    name = "clinic"

    def ready(self) -> None:
        """Register the checks; give every field the project's words."""
        from . import checks, failed_sign_ins  # noqa: F401  (importing registers)
        from .form_words import use_own_words

        use_own_words()
