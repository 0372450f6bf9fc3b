"""What every stored row shares: a public id, its times and an edit counter."""

import uuid
from collections.abc import Mapping
from typing import ClassVar

from django.conf import settings
from django.db import models

from arsenal.limits import Limit, check_limits


class Stamped(models.Model):
    """A row known outside by `uuid`; `version` grows by one with every edit, to refuse stale ones.

    Clients may choose the uuid themselves, so that a repeated submission finds the first one.
    """

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True


class Edited(Stamped):
    """A row people edit on a page: knows who touched it last and which numbers it takes."""

    LIMITS: ClassVar[Mapping[str, Limit]] = {}

    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )

    class Meta:
        abstract = True

    def clean(self) -> None:
        super().clean()
        check_limits(self, self.LIMITS)
