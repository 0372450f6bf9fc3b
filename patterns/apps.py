"""The patterns app: sheets of oil and their versions."""

from django.apps import AppConfig


class PatternsConfig(AppConfig):
    name = "patterns"
    label = "patterns"

    def ready(self) -> None:
        from patterns import access_rules  # noqa: F401  (registers who may see what)
