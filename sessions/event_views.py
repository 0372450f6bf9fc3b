from django.http import Http404, HttpRequest, HttpResponse


def event_list(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def event_new(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def event(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def event_edit(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
