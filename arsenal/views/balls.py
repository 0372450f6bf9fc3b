"""One ball: its page, its numbers and its layout."""

import uuid

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from arsenal import access
from arsenal.ball_page import ball_context
from arsenal.forms.ball import BallForm, LayoutForm
from arsenal.models import Ball, Bowler, Layout
from arsenal.views.edit import save_or_show
from arsenal.views.person import person_of


@login_required
def ball_page(request: HttpRequest, ball: uuid.UUID) -> HttpResponse:
    person = person_of(request)
    found = access.get_visible(person, Ball, uuid=ball)
    return render(request, "arsenal/ball.html", {"section": "bags", **ball_context(person, found)})


def _edit_ball(request: HttpRequest, instance: Ball) -> HttpResponse:
    return save_or_show(
        request,
        BallForm(request.POST or None, instance=instance),
        template="arsenal/ball_edit.html",
        context={"ball": instance, "name": instance.name, "bowler": instance.bowler},
        then=lambda saved: reverse("ball", args=[saved.uuid]),
        said="The ball is saved.",
    )


@login_required
def ball_new(request: HttpRequest, bowler: uuid.UUID) -> HttpResponse:
    found = access.get_changeable(person_of(request), Bowler, uuid=bowler)
    return _edit_ball(request, Ball(bowler=found))


@login_required
def ball_edit(request: HttpRequest, ball: uuid.UUID) -> HttpResponse:
    return _edit_ball(request, access.get_changeable(person_of(request), Ball, uuid=ball))


@login_required
def layout_edit(request: HttpRequest, ball: uuid.UUID) -> HttpResponse:
    found = access.get_changeable(person_of(request), Ball, uuid=ball)
    layout = Layout.objects.filter(ball=found).first() or Layout(ball=found)
    return save_or_show(
        request,
        LayoutForm(request.POST or None, instance=layout),
        template="arsenal/layout_edit.html",
        context={"ball": found},
        then=lambda saved: reverse("ball", args=[found.uuid]),
        said="The layout is saved.",
    )
