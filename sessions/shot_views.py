from django.http import Http404, HttpRequest, HttpResponse


def shot_edit(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def shot_undo(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
