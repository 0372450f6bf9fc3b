"""Signing up, inviting, and one's own account."""

import zoneinfo
from typing import TYPE_CHECKING

from django import forms
from django.contrib.auth.forms import UserCreationForm

from arsenal.models import Person
from arsenal.models.people import Role

if TYPE_CHECKING:
    PersonCreationForm = UserCreationForm[Person]
    PersonForm = forms.ModelForm[Person]
else:
    PersonCreationForm, PersonForm = UserCreationForm, forms.ModelForm


class NewPersonForm(PersonCreationForm):
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
    CHOICES = [*Role.choices, (REMOVE, "Remove from the team")]
    role = forms.ChoiceField(choices=CHOICES)


class AccountForm(PersonForm):
    time_zone = forms.ChoiceField(
        choices=[(name, name) for name in sorted(zoneinfo.available_timezones())],
        help_text="Times on every page are shown in it.",
    )

    class Meta:
        model = Person
        fields = ("first_name", "last_name", "units", "time_zone")
