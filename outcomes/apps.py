"""Application set-up."""

from django.apps import AppConfig


class OutcomesConfig(AppConfig):
    """The outcomes app."""

    name = "outcomes"

    def ready(self) -> None:
        """Lend the pain scores to the programmes, which never import this app."""
        from programs.usual_pain import read_usual_pain_with

        from .usual_pain import usual_pain_by_visit

        read_usual_pain_with(usual_pain_by_visit)
