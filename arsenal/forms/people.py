"""Signing up, inviting, and one's own account."""

import zoneinfo

from django import forms
from django.contrib.auth.forms import BaseUserCreationForm

from arsenal.models import Bowler, Person
from arsenal.models.people import Role


class NewPersonForm(BaseUserCreationForm):
    first_name = forms.CharField(label="Your name", max_length=150)

    class Meta:
        model = Person
        fields = ("first_name", "username")
        help_texts = {"username": "You sign in with it: letters, digits and @ . + - _ only."}


class InvitationForm(forms.Form):
    role = forms.ChoiceField(choices=Role.choices, initial=Role.PLAYER)
    note = forms.CharField(
        max_length=80, required=False, label="For whom", help_text="Only coaches see it, to tell links apart."
    )


class MemberForm(forms.Form):
    """A coach gives a member another role, or takes the membership away."""

    REMOVE = "remove"
    role = forms.ChoiceField(choices=[*Role.choices, (REMOVE, "Remove from the team")])


class AccountForm(forms.ModelForm):
    time_zone = forms.ChoiceField(
        choices=[(name, name) for name in sorted(zoneinfo.available_timezones())],
        help_text="Times on every page are shown in it.",
    )

    class Meta:
        model = Person
        fields = ("first_name", "units", "time_zone")
        labels = {"first_name": "Your name"}


class OwnBowlerForm(forms.Form):
    """Which bowler of the team is this person?"""

    bowler = forms.ModelChoiceField(queryset=Bowler.objects.none())
