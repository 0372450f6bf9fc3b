from django.http import Http404, HttpRequest, HttpResponse


def block_new(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def block(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def block_edit(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def block_state(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
