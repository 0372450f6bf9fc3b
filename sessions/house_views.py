from django.http import Http404, HttpRequest, HttpResponse


def house_list(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def house_new(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def house(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def house_edit(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def house_dress(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
