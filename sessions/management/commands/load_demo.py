"""`manage.py load_demo`: the invented demo team, once."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from sessions.demo.load import AlreadyLoaded, load_demo


class Command(BaseCommand):
    help = "Load the invented demo team; refuses if it is already there."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            team = load_demo()
        except AlreadyLoaded as refusal:
            raise CommandError(str(refusal)) from None
        self.stdout.write(f"Loaded {team.name}.")
