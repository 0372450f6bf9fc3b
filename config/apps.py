"""The wiring as a Django app, so that its checks run."""

from django.apps import AppConfig


class WiringConfig(AppConfig):
    name = "config"

    def ready(self) -> None:
        from config import checks  # noqa: F401
