"""What every stored row shares: a public id, its times and an edit counter."""

import uuid

from django.db import models


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
