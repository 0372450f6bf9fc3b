"""The arsenal app: teams, people, bowlers, balls."""

from django.apps import AppConfig


class ArsenalConfig(AppConfig):
    name = "arsenal"
    label = "arsenal"
