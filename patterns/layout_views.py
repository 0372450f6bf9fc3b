"""The page on which two layouts of one ball are compared."""

import uuid

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from arsenal import access
from arsenal.models import Ball
from arsenal.views.person import person_of
from motion.errors import MotionError
from patterns.layout_comparison import Comparison, comparison, own_layout_words, unknown_numbers
from patterns.layout_form import LayoutComparisonForm
from patterns.line_report_view import LineNumbers, line_numbers


@login_required
@require_safe
def compare_layouts(request: HttpRequest, ball: uuid.UUID) -> HttpResponse:
    """The form alone until something is asked; the question stands in the address, so it can be shared."""
    person = person_of(request)
    found = access.get_visible(person, Ball, uuid=ball)
    form = LayoutComparisonForm(request.GET or None, person=person, ball=found)
    result = _result(found, form)
    context = {
        "section": "bags",
        "ball": found,
        "form": form,
        "own_layout": own_layout_words(found),
        "unknown": unknown_numbers(found),
        "result": result,
        "report": None if result is None else _report(found, form, result),
    }
    status = 400 if form.is_bound and result is None else 200
    return render(request, "patterns/compare_layouts.html", context, status=status)


def _result(ball: Ball, form: LayoutComparisonForm) -> Comparison | None:
    if not form.is_bound or not form.is_valid():
        return None
    asked = form.cleaned_data
    line = (asked["laydown_board"], asked["target_board"])
    try:
        return comparison(ball, asked["version"], asked["release"], form.layout, *line)
    except MotionError as error:
        form.add_error(None, str(error))
        return None


def _report(ball: Ball, form: LayoutComparisonForm, result: Comparison) -> LineNumbers:
    return line_numbers(ball, form.cleaned_data["version"], form.cleaned_data["release"], result.line)
