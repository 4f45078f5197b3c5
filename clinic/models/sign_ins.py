"""Who is signed in where, what a site asks at the sign-in, and names nobody has."""

from typing import Any

from django.db import models

from ..access import Role
from .people import Site, User


def roles_at_first() -> list[str]:
    """Return the roles that need a second step where a site chose nothing.

    Project assumption: those who see, export or open most.
    """
    return [Role.LEAD.value, Role.ADMINISTRATOR.value]


class OpenSession(models.Model):
    """A sign-in on one device, from its beginning to its end."""

    user = models.ForeignKey(User, models.CASCADE, related_name="open_sessions")
    device = models.CharField(max_length=80)
    source = models.GenericIPAddressField(null=True)
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [
            # Serves: a person's sessions that have not ended.
            models.Index(fields=["user", "ended_at"], name="open_sessions_of_person"),
        ]

    def __str__(self) -> str:
        return f"{self.user_id} on {self.device}"


class SignInPolicy(models.Model):
    """Which roles of a site need a second step, and how long they have for it."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="sign_in_policy")
    second_step_roles = models.JSONField(default=roles_at_first)
    grace_days = models.PositiveSmallIntegerField(default=14)
    version = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"sign-in policy of {self.site_id}"

    @property
    def values(self) -> dict[str, Any]:
        """Return what the site chose, as it goes on record."""
        return {"roles": self.second_step_roles, "grace_days": self.grace_days}
