"""Comments on a ball, a game or a shot: a fragment for pages, a page of its own without htmx."""

import uuid as uuids
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from arsenal.views.person import person_of
from sessions.commenting import CommentForm, Subject, subject_of, write_comment
from sessions.forms_base import written
from sessions.page_request import PageRequest


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def comments(request: PageRequest, kind: str, uuid: UUID) -> HttpResponse:
    """List the comments on a visible thing; add one where the person may change it."""
    subject = subject_of(person_of(request), kind, uuid)
    if request.method != "POST":
        return _show(request, subject, _empty_form())
    if not subject.may_write:
        raise PermissionDenied
    form, by = CommentForm(request.POST), person_of(request)
    if written(form, lambda data: write_comment(subject, by, data["text"], data["uuid"])) is None:
        return _show(request, subject, form, status=400)
    if not request.htmx:
        return redirect("comments", kind=kind, uuid=uuid)
    return _show(request, subject, _empty_form())


def _empty_form() -> CommentForm:
    return CommentForm(initial={"uuid": uuids.uuid4()})


def _show(request: PageRequest, subject: Subject, form: CommentForm, status: int = 200) -> HttpResponse:
    template = "sessions/_comments.html" if request.htmx else "sessions/comments.html"
    context = {"subject": subject, "comments": subject.comments, "form": form, "section": "desk"}
    return render(request, template, context, status=status)
