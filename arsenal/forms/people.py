"""Signing up, inviting, and one's own account."""

import zoneinfo
from typing import TYPE_CHECKING

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, UserCreationForm
from django.core.exceptions import ValidationError

from arsenal.forms.voice import PlainForm
from arsenal.models import Person
from arsenal.models.people import Role

if TYPE_CHECKING:
    PersonCreationForm = UserCreationForm[Person]
    PersonForm = forms.ModelForm[Person]
else:
    PersonCreationForm, PersonForm = UserCreationForm, forms.ModelForm


class NewPersonForm(PlainForm, PersonCreationForm):
    first_name = forms.CharField(label="Your name", max_length=150)

    class Meta:
        model = Person
        fields = ("first_name", "username")
        help_texts = {"username": "You sign in with it: letters, digits and @ . + - _ only."}
        error_messages = {
            "username": {
                "invalid": "Username “%(value)s” is not allowed: letters, digits and @ . + - _ only.",
            }
        }

    def clean_username(self) -> str:
        username: str = self.cleaned_data["username"]
        if Person.objects.filter(username__iexact=username).exists():
            raise ValidationError(f"Username “{username}” is not allowed: somebody has it; choose another.")
        return username


class SignInForm(PlainForm, AuthenticationForm):
    pass


class NewPasswordForm(PlainForm, PasswordChangeForm):
    pass


class InvitationForm(PlainForm, forms.Form):
    role = forms.ChoiceField(choices=Role.choices, initial=Role.PLAYER)
    note = forms.CharField(
        max_length=80, required=False, label="For whom", help_text="Only coaches see it, to tell links apart."
    )


class MemberForm(PlainForm, forms.Form):
    """A coach gives a member another role, or takes the membership away."""

    REMOVE = "remove"
    CHOICES = [*Role.choices, (REMOVE, "Remove from the team")]
    role = forms.ChoiceField(choices=CHOICES)


class AccountForm(PlainForm, PersonForm):
    time_zone = forms.ChoiceField(
        choices=[(name, name) for name in sorted(zoneinfo.available_timezones())],
        help_text="Times on every page are shown in it.",
    )

    class Meta:
        model = Person
        fields = ("first_name", "last_name", "units", "time_zone")
