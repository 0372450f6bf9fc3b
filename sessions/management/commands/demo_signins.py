"""`manage.py demo_signins`: who can sign in to the demo, if the demo is loaded."""

from typing import Any

from django.core.management.base import BaseCommand

from arsenal.models import Team
from sessions.demo.load import sign_ins
from sessions.demo.scenario import DEMO_PASSWORD, TEAM


class Command(BaseCommand):
    help = "Print the demo's sign-ins; nothing where the demo is not loaded."

    def handle(self, *args: Any, **options: Any) -> None:
        if not Team.objects.filter(name=TEAM).exists():
            return
        self.stdout.write(f"Demo team {TEAM}; everyone's password is {DEMO_PASSWORD}")
        for name, role, username in sign_ins():
            self.stdout.write(f"  {username:<8} {role:<7} {name}")
