"""What every form that edits a stored row shares: numbers with a range, a version, a uuid of its own."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model

from arsenal.edits import SentBefore, StaleEdit, create_once, save_edit
from arsenal.forms.voice import PlainForm
from arsenal.limits import Limit
from arsenal.models import Person
from arsenal.models.base import Stamped

if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Any]
else:
    ModelForm = forms.ModelForm


class NumberField(forms.Field):
    """A number in a range, as text: a phone may type a comma, and what was typed stays on the page."""

    def __init__(self, *, limit: Limit, **kwargs: Any) -> None:
        self.limit = limit
        mode = "decimal" if limit.low >= 0 else "text"
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.error_messages["required"] = limit.missing()

    def to_python(self, value: Any) -> float | int | None:
        if value in self.empty_values:
            return None
        try:
            number = float(str(value).strip().replace(",", ".", 1).replace("−", "-"))
        except ValueError:
            raise ValidationError(self.limit.not_a_number(value)) from None
        if refusal := self.limit.refusal(number):
            raise ValidationError(refusal)
        return int(number) if self.limit.whole else number

    def prepare_value(self, value: Any) -> Any:
        return repr(value).removesuffix(".0") if isinstance(value, float) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(initial != self.to_python(data))
        except ValidationError:
            return True


class WhenField(forms.DateTimeField):
    """A moment in the reader's own time zone; a refusal repeats what was typed."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")

    def to_python(self, value: Any) -> datetime | None:
        try:
            return super().to_python(value)
        except (ValidationError, OverflowError):
            raise ValidationError(
                f"{self.label} “{str(value)[:40]}” is not a date and time such as 2026-05-31 18:30."
            ) from None


class DayField(forms.DateField):
    """A day; a refusal repeats what was typed."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def to_python(self, value: Any) -> date | None:
        try:
            return super().to_python(value)
        except ValidationError:
            raise ValidationError(
                f"{self.label} “{str(value)[:40]}” is not a day such as 2026-05-31."
            ) from None


@dataclass(frozen=True)
class FieldGroup:
    """Fields that are seldom needed: folded away under their title, unless something in them is wrong."""

    title: str
    fields: tuple[forms.BoundField, ...]

    @property
    def is_open(self) -> bool:
        return any(field.errors for field in self.fields)


class StoredForm(PlainForm, ModelForm):
    """Creates a row once per uuid, or edits one unless somebody was faster.

    `FOLDED` names the groups of fields that are folded away, by their titles.
    """

    FOLDED: ClassVar[Mapping[str, tuple[str, ...]]] = {}

    uuid = forms.UUIDField(required=False, widget=forms.HiddenInput)
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.conflict: list[tuple[str, str, str]] = []
        self.stale: StaleEdit | None = None
        self.fields["uuid"].initial = uuid.uuid4()
        self.fields["version"].initial = self.instance.version
        for name, limit in getattr(self.instance, "LIMITS", {}).items():
            if name in self.fields:
                self._make_number(name, limit)

    def _make_number(self, name: str, limit: Limit) -> None:
        was = self.fields[name]
        unit = f" ({limit.unit})" if limit.unit and limit.unit != limit.label.lower() else ""
        self.fields[name] = NumberField(
            limit=limit,
            required=was.required,
            label=f"{limit.label}{unit}",
            help_text=was.help_text or limit.words,
            initial=was.initial,
        )

    @property
    def main_fields(self) -> list[forms.BoundField]:
        """What is always asked for."""
        folded = {name for names in self.FOLDED.values() for name in names}
        return [field for field in self.visible_fields() if field.name not in folded]

    @property
    def folded_groups(self) -> list[FieldGroup]:
        groups = (
            FieldGroup(title, tuple(self[name] for name in names if name in self.fields))
            for title, names in self.FOLDED.items()
        )
        return [group for group in groups if group.fields]

    def add_error(self, field: str | None, error: Any) -> None:
        """Errors of the row about fields this form has no input for belong to the form as a whole."""
        if field is None and hasattr(error, "error_dict"):
            unshown = [name for name in error.error_dict if name not in {*self.fields, NON_FIELD_ERRORS}]
            for name in unshown:
                super().add_error(None, ValidationError(error.error_dict.pop(name)))
        super().add_error(field, error)

    @property
    def is_new(self) -> bool:
        return self.instance.pk is None

    def clean(self) -> dict[str, Any]:
        """A new row takes its uuid before it is judged, so a second sending is not its own rival."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if self.is_new and cleaned.get("uuid"):
            self.instance.uuid = cleaned["uuid"]
        return cleaned

    def store(self, person: Person) -> Stamped:
        """Save once; raises StaleEdit or Clash when somebody was faster."""
        if self.is_new:
            return self.create(person)[0]
        row: Stamped = self.instance
        save_edit(row, self.cleaned_data.get("version") or 0, person)
        return row

    def create(self, person: Person) -> tuple[Stamped, bool]:
        """The new row and True; or the one an earlier sending made, if it says the same, and False."""
        row, new = create_once(self.instance, person)
        shown = self._meta.fields or ()
        differing = [name for name in shown if getattr(row, name) != getattr(self.instance, name)]
        if differing:
            raise SentBefore(row, [str(self.fields[name].label or name) for name in differing])
        return row, new

    def show_conflict(self, stale: StaleEdit) -> None:
        """Keep what was typed, list what differs from what is stored now, and let a second save decide."""
        self.stale = stale
        stored = self._of_stored(stale.current)
        for name in self._shown_fields():
            now, typed = _words(stored, name), _words(self, name)
            if now != typed:
                self.conflict.append((str(self.fields[name].label or name), now, typed))
        self.data = dict(self.data.items()) | {self.add_prefix("version"): str(stale.current.version)}

    def _of_stored(self, row: Stamped) -> "StoredForm":
        """The same form, filled from what is stored; a form that asks for more passes it on."""
        return type(self)(instance=row)

    def _shown_fields(self) -> list[str]:
        return [name for name in self.fields if name not in ("uuid", "version")]


def _words(form: ModelForm, name: str) -> str:
    """A field's value as the page shows it: the name of a choice, yes or no, nothing as a dash."""
    field = form.fields[name]
    value = form.cleaned_data.get(name) if form.is_bound else form.get_initial_for_field(field, name)
    if value in field.empty_values:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Model):
        return str(value)
    if isinstance(field, forms.ModelChoiceField):
        return str(field.to_python(value))
    choices = dict(getattr(field, "choices", []))
    return str(choices.get(value, field.prepare_value(value)))
