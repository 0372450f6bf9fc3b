from django.http import Http404, HttpRequest, HttpResponse


def entry_new(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def entry_edit(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def entry_plan(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def ball_put_away(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
