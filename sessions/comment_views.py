"""Comments on a ball, a game or a shot."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse


@login_required
def comments(request: HttpRequest, kind: str, uuid: UUID) -> HttpResponse:
    raise Http404
