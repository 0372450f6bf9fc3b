"""`manage.py first_coach`: the first team of an empty server and its coach, with a password to begin with."""

import secrets
from argparse import ArgumentParser
from typing import Any

from django.core.exceptions import ValidationError
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
        password = secrets.token_urlsafe(9)
        coach, new_team = Person(username=username), Team(name=team.strip())
        coach.set_password(password)
        try:
            coach.full_clean()
            new_team.full_clean()
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        coach.save()
        new_team.save()
        Membership.objects.create(team=new_team, person=coach, role=Role.COACH)
        self.stdout.write(f"Sign in as {username} with {password}, then change it on the account page.")
