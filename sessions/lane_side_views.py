from django.http import Http404, HttpRequest, HttpResponse


def lane_side(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def shot_log(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404


def game_pair(request: HttpRequest, **where: object) -> HttpResponse:
    raise Http404
