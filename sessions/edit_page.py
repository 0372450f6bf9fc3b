"""One way for the logbook's edit pages: what record refuses is shown at its field, as any wrong input is."""

from collections.abc import Callable
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse

from arsenal.forms.base import StoredForm
from arsenal.models import Person
from arsenal.models.base import Stamped
from arsenal.views.edit import save_or_show
from sessions.forms_base import put_errors


class RecordedForm(StoredForm):
    """A form whose row is written by a function of sessions.record; refusals there make the form invalid."""

    def write(self, person: Person) -> Stamped:
        raise NotImplementedError

    def store(self, person: Person) -> Stamped:
        if self.is_new:
            self.instance.uuid = self.cleaned_data.get("uuid") or self.instance.uuid
        return self.write(person)

    @property
    def seen_version(self) -> int | None:
        version: int | None = self.cleaned_data.get("version")
        return version


def edit_page(
    request: HttpRequest,
    form: RecordedForm,
    *,
    template: str,
    context: dict[str, Any],
    then: Callable[[Any], str],
    said: str,
) -> HttpResponse:
    page: dict[str, Any] = {
        "template": template,
        "context": {"section": "events", **context},
        "then": then,
        "said": said,
    }
    try:
        return save_or_show(request, form, **page)
    except ValidationError as error:
        put_errors(form, error)
        return save_or_show(request, form, **page)
