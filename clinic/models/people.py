"""Sites and the people who work there."""

from django.contrib.auth.models import AbstractUser
from django.db import models

from ..access import Capability, Role, can


class Site(models.Model):
    """A clinic; no query of one site returns another's rows."""

    name = models.CharField(max_length=120, unique=True)
    is_demo = models.BooleanField(default=False, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name


class User(AbstractUser):
    """A person who signs in; every person belongs to one site."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="people")
    role = models.CharField(max_length=20, choices=Role.choices, default=Role.CLINICIAN)

    REQUIRED_FIELDS = ["site", "email"]

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values), name="user_role_known"
            ),
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def sees_cases(self) -> bool:
        """Whether the role may open clinical pages."""
        return can(self, Capability.SEE_CASES)
