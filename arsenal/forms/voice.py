"""Django's sentences ("This field is required.") in the words of the pages: field, value, what is allowed."""

from typing import Any

from django import forms
from django.core.validators import MaxLengthValidator

LOST = "This page's own number was lost: load it again."
MOST_NAMED = 8


class PlainForm(forms.BaseForm):
    """A form whose refusals name the field, the value and what is allowed; what a form says itself stays."""

    def full_clean(self) -> None:
        for name, field in self.fields.items():
            _say(field, str(field.label or name.replace("_", " ").capitalize()))
        super().full_clean()


def _say(field: forms.Field, label: str) -> None:
    if isinstance(field.widget, forms.HiddenInput):
        _instead(field, "required", LOST)
        _instead(field, "invalid", LOST)
        return
    _instead(field, "required", f"{label} is missing{_allowed(field)}.")
    if isinstance(field, forms.ChoiceField | forms.ModelChoiceField):
        _instead(field, "invalid_choice", f"{_escaped(label)} “%(value)s” is not allowed{_allowed(field)}.")
    field.validators = [_said_as(validator, label) for validator in field.validators]


def _instead(field: forms.Field, code: str, sentence: str) -> None:
    """Only in the place of the sentence that every field of its kind begins with."""
    for kind in type(field).__mro__:
        default = vars(kind).get("default_error_messages", {}).get(code)
        if default is not None:
            if field.error_messages.get(code) == default:
                field.error_messages[code] = sentence
            return


def _allowed(field: forms.Field) -> str:
    if isinstance(field, forms.ModelChoiceField):
        return ": choose one of those listed"
    if isinstance(field, forms.ChoiceField):
        labels = [str(text) for value, text in _flat(field.choices) if value != ""]
        few = 0 < len(labels) <= MOST_NAMED
        return f": choose one of {', '.join(labels)}" if few else ": choose one of those listed"
    if isinstance(field, forms.DateTimeField):
        return ": a date and time like 2026-05-31 18:30"
    if isinstance(field, forms.DateField):
        return ": a day like 2026-05-31"
    longest = getattr(field, "max_length", None)
    return f": up to {longest} characters" if longest else ""


def _flat(choices: Any) -> list[tuple[Any, Any]]:
    flat: list[tuple[Any, Any]] = []
    for value, text in choices:
        flat += text if isinstance(text, list | tuple) else [(value, text)]
    return flat


def _said_as(validator: Any, label: str) -> Any:
    if not isinstance(validator, MaxLengthValidator):
        return validator
    # One validator serves every form of its class, so it is not changed but replaced.
    return MaxLengthValidator(
        validator.limit_value,
        f"{_escaped(label)} of %(show_value)s characters is too long: up to %(limit_value)s.",
    )


def _escaped(label: str) -> str:
    return label.replace("%", "%%")
