"""Who signs in, which team they are on and in which role."""

import hashlib
import secrets
from datetime import timedelta

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from arsenal.models.base import Stamped

INVITATION_LIFETIME = timedelta(days=7)


class Person(AbstractUser):
    """Someone who signs in. What they may see follows from their memberships alone."""

    class Units(models.TextChoices):
        IMPERIAL = "imperial", _("Imperial")
        METRIC = "metric", _("Metric")

    units = models.CharField(max_length=10, choices=Units.choices, default=Units.IMPERIAL)
    time_zone = models.CharField(max_length=50, default="UTC")

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class Team(Stamped):
    name = models.CharField(max_length=80)

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    COACH = "coach", _("Coach")
    PLAYER = "player", _("Player")
    GUEST = "guest", _("Guest")


class Membership(models.Model):
    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="memberships")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role.choices)
    joined_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["team", "person"], name="one_membership_per_team")]

    def __str__(self) -> str:
        return f"{self.person} ({self.role})"


def hash_token(token: str) -> str:
    """Invitations are stored as a digest, so that a copy of the database opens no door."""
    return hashlib.sha256(token.encode()).hexdigest()


class Invitation(models.Model):
    """A single-use link that lets one person join a team in one role until it expires."""

    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="invitations")
    role = models.CharField(max_length=10, choices=Role.choices)
    token_hash = models.CharField(max_length=64, unique=True)
    note = models.CharField(max_length=80, blank=True)
    created_by = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    used_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    def __str__(self) -> str:
        return f"{self.team} {self.role} until {self.expires_at:%Y-%m-%d}"

    @classmethod
    def issue(cls, team: Team, role: str, created_by: Person, note: str = "") -> tuple["Invitation", str]:
        """Store a new invitation; the token is returned once and never stored."""
        token = secrets.token_urlsafe(24)
        invitation = cls.objects.create(
            team=team,
            role=role,
            token_hash=hash_token(token),
            created_by=created_by,
            note=note,
            expires_at=timezone.now() + INVITATION_LIFETIME,
        )
        return invitation, token

    @property
    def is_open(self) -> bool:
        return self.used_at is None and self.expires_at > timezone.now()
