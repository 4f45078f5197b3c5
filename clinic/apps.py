"""Application set-up: registers the start-up checks, nothing else."""

from django.apps import AppConfig


class ClinicConfig(AppConfig):
    """The clinic app."""

    name = "clinic"

    def ready(self) -> None:
        """Register the checks."""
        from . import checks  # noqa: F401  (importing registers them)
