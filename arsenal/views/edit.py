"""The one way a page shows a form, saves it and answers."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from arsenal.edits import Clash, StaleEdit
from arsenal.forms.base import StoredForm
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
            try:
                saved: Stamped = form.store(person_of(request))
            except StaleEdit as stale:
                form.show_conflict(stale)
                status = 409
            except Clash as clash:
                form.add_error(None, str(clash))
                status = 409
            else:
                messages.success(request, said if isinstance(said, str) else said(saved), extra_tags="good")
                return redirect(then(saved))
    return render(request, template, {"section": "bags", "form": form, **context}, status=status)
