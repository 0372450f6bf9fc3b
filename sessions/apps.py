"""The sessions app: events, blocks, games, shots and the advice owed for them."""

from django.apps import AppConfig
from django.conf import settings

from motion.threads import limit_threads


class SessionsConfig(AppConfig):
    name = "sessions"
    # Django's own session app owns the label "sessions".
    label = "logbook"
    verbose_name = "Logbook"

    def ready(self) -> None:
        from sessions import access_rules, signals, surface_blocks  # noqa: F401  (who may see; what owes advice)

        surface_blocks.plug_in()
        limit_threads(settings.ENGINE_THREADS)
