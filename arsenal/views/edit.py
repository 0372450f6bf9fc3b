"""The one way a page shows a form, saves it and answers."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from arsenal.edits import Clash, StaleEdit
from arsenal.forms.base import StoredForm
from arsenal.models import Person
from arsenal.models.base import Stamped
from arsenal.views.person import person_of


def save_or_show(
    request: HttpRequest,
    form: StoredForm,
    *,
    template: str,
    context: dict[str, Any],
    then: Callable[[Any], str],
    said: Callable[[Any], str] | str,
) -> HttpResponse:
    """Store a valid form and go where `then` points; otherwise show it with everything that was typed.

    The status tells the two refusals apart: 400 for wrong input, 409 for an edit that came too late.
    """
    status = 200
    if form.is_bound:
        status = 400
        if form.is_valid():
            saved = _stored(form, person_of(request))
            if saved is not None:
                messages.success(request, said if isinstance(said, str) else said(saved))
                return redirect(then(saved))
            status = 409
    return render(request, template, {"section": "bags", "form": form, **context}, status=status)


def _stored(form: StoredForm, person: Person) -> Stamped | None:
    """The row as it is stored now, or None with the reason on the form when somebody was faster."""
    try:
        return form.store(person)
    except StaleEdit as stale:
        form.show_conflict(stale)
        # A second tap on Save is late as well; where everything typed is stored already, nobody is told off.
        return None if form.conflict else stale.current
    except Clash as clash:
        form.add_error(None, str(clash))
        return None
