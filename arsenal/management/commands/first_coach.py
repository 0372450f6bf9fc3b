"""`manage.py first_coach`: the first team of an empty server, and a link by which its coach joins."""

import secrets
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from arsenal.models import Membership, Person, Team
from arsenal.models.people import Role


class Command(BaseCommand):
    help = "Make a team and its first coach; prints a password to sign in with and change."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username")
        parser.add_argument("team", help="the team's name")

    @transaction.atomic
    def handle(self, *args: Any, username: str, team: str, **options: Any) -> None:
        if Person.objects.filter(username=username).exists():
            raise CommandError(f"The name {username} is taken; choose another.")
        password = secrets.token_urlsafe(9)
        coach = Person.objects.create_user(username, password=password)
        Membership.objects.create(team=Team.objects.create(name=team[:80]), person=coach, role=Role.COACH)
        self.stdout.write(f"Sign in as {username} with {password}, then change it on the account page.")
