from django.http import Http404, HttpRequest, HttpResponse


def practice_new(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def practice(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def practice_log(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
