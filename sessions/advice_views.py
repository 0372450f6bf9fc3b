"""The advice fragment that updates itself, and the state of background work."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse

from arsenal.access import get_visible
from sessions.models import BlockEntry


@login_required
def advice(request: HttpRequest, uuid: UUID, left_number: int) -> HttpResponse:
    get_visible(request.user, BlockEntry, uuid=uuid)
    return HttpResponse("")


@login_required
def ask(request: HttpRequest, uuid: UUID, left_number: int) -> HttpResponse:
    raise Http404


@login_required
def cancel(request: HttpRequest, uuid: UUID, left_number: int) -> HttpResponse:
    raise Http404


@login_required
def work_status(request: HttpRequest) -> JsonResponse:
    return JsonResponse({})
