from django.http import Http404, HttpRequest, HttpResponse


def game_line(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def line_undo(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
