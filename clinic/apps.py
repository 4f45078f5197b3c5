"""Application set-up: the start-up checks, and what fields say when left unfilled."""

from django.apps import AppConfig


class ClinicConfig(AppConfig):
    """The clinic app."""

    name = "clinic"

    def ready(self) -> None:
        """Give every field the project's words, then register checks and receivers."""
        from .form_words import use_own_words

        # First: what is imported next makes fields of its own.
        use_own_words()
        from . import checks, entering, own_sessions  # noqa: F401  (import registers)
