"""What the logbook's forms share: what record refuses is shown at the field it names."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from arsenal.forms.base import DayField, NumberField, WhenField
from arsenal.limits import Limit
from arsenal.models import Release

if TYPE_CHECKING:
    ModelChoiceField = forms.ModelChoiceField[Any]
else:
    ModelChoiceField = forms.ModelChoiceField


T = TypeVar("T")


class ReleaseField(ModelChoiceField):
    """A release of the bowler at hand, so its kind says enough."""

    def __init__(self) -> None:
        super().__init__(
            queryset=Release.objects.none(),
            to_field_name="uuid",
            required=False,
            label="Release",
            empty_label="not said",
            error_messages={"invalid_choice": "Release is not allowed: choose one of the bowler's own."},
        )

    def label_from_instance(self, obj: Release) -> str:
        return str(obj.get_kind_display())


def put_errors(form: forms.BaseForm, error: ValidationError) -> None:
    """Show each message at its field, or above the form when the form has no such field."""
    by_field = error.error_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: [error]}
    for field, errors in by_field.items():
        # A form that is not valid may have dropped the field already; the message still belongs to it.
        form.add_error(field if field in form.fields else None, errors)


def written(form: forms.BaseForm, write: Callable[[dict[str, Any]], T]) -> T | None:
    """What `write` stored of a sent form's values; None when the form or record refuses, with every reason.

    None also for a form that was not sent yet.
    """
    if not (form.is_bound and form.is_valid()):
        return None
    try:
        return write(form.cleaned_data)
    except ValidationError as error:
        put_errors(form, error)
        return None


def number_field(limit: Limit, *, required: bool = False, **more: Any) -> NumberField:
    unit = f" ({limit.unit})" if limit.unit else ""
    return NumberField(
        limit=limit, required=required, label=more.pop("label", f"{limit.label}{unit}"), **more
    )


def moment_field(label: str, *, required: bool = False, help_text: str = "") -> WhenField:
    missing = {"required": f"{label} is missing: a date and time like 2026-06-06 10:30."}
    return WhenField(label=label, required=required, help_text=help_text, error_messages=missing)


def date_field(label: str, *, required: bool = True, help_text: str = "") -> DayField:
    missing = {"required": f"{label} is missing: a date like 2026-06-06."}
    return DayField(label=label, required=required, help_text=help_text, error_messages=missing)
