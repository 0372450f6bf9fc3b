"""Which block a surface entry was made for."""

from django.db import models

from arsenal.models import SurfaceEntry
from sessions.models.event import Block


class SurfaceWork(models.Model):
    surface_entry = models.OneToOneField(SurfaceEntry, on_delete=models.CASCADE, related_name="work")
    before_block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="surface_work")
