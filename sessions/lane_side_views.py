"""The page beside the lane: log the next shot, see what was logged, take it back."""

import re
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from arsenal.access import get_changeable, get_visible, may_change
from arsenal.views.person import person_of
from sessions import record
from sessions.forms_base import put_errors
from sessions.forms_entry import PairForm
from sessions.forms_shot import ShotForm
from sessions.lane_side import LaneSide, PracticeSide, balls_to_choose
from sessions.models import BlockEntry
from sessions.recent_shots import told

# What an address may bring along, so that advice is taken over with one tap: `LaneCard.take_over`.
FROM_ADDRESS = ("ball", "laydown_board", "target_board", "target_ft")


@login_required
def lane_side(request: HttpRequest, uuid: UUID) -> HttpResponse:
    entry = get_visible(person_of(request), BlockEntry, uuid=uuid)
    side = LaneSide(entry, _game_asked(entry, request.GET.get("game")))
    taken = {name: request.GET[name] for name in FROM_ADDRESS if name in request.GET}
    form = ShotForm(entry, side.pair, initial=first_values(side, taken))
    return render(request, "sessions/lane_side.html", context_of(request, side, form))


@login_required
@require_POST
def shot_log(request: HttpRequest, uuid: UUID) -> HttpResponse:
    entry = get_changeable(person_of(request), BlockEntry, uuid=uuid)
    # A number no game of this block has is refused with the form, shown at the game being bowled.
    side = LaneSide(entry, _game_number(entry, request.POST.get("game_number")))
    form = ShotForm(entry, side.pair, request.POST)
    if form.is_valid():
        data = form.cleaned_data
        try:
            logged = record.log_shot(
                entry,
                form.facts(),
                by=person_of(request),
                uid=data["uuid"],
                game_number=data["game_number"],
                frame_number=data["frame_number"],
                throw_number=data["throw_number"],
            )
        except ValidationError as error:
            put_errors(form, error)
            if "frame_number" in error.error_dict:
                form.data = _at_next_throw(request, side)
        else:
            said = f"Logged {told(logged.shot)}, {logged.shot.ball.name}."
            return after_write(request, entry, said, data["game_number"])
    return show(request, side, form, status=400)


def _at_next_throw(request: HttpRequest, side: LaneSide) -> QueryDict:
    """What was sent, at the throw that is next now: who has read what was logged meanwhile may go on."""
    data = request.POST.copy()
    if side.place:
        data["frame_number"] = str(side.place.frame_number)
        data["throw_number"] = str(side.place.throw_number)
    return data


@login_required
@require_POST
def game_pair(request: HttpRequest, uuid: UUID, number: int) -> HttpResponse:
    """On which pair a game is bowled, and on which of its lanes it starts."""
    entry = get_changeable(person_of(request), BlockEntry, uuid=uuid)
    _game_asked(entry, str(number))
    form = PairForm(entry, request.POST)
    if form.is_valid():
        data = form.cleaned_data
        try:
            record.set_pair(
                entry,
                number,
                lane=data["lane"],
                starts_on_left=data["lane"].number % 2 == 1,
            )
        except ValidationError as error:
            put_errors(form, error)
        else:
            if "planning" in request.POST:
                return redirect("entry-edit", entry.uuid)
            return redirect(f"{reverse('lane-side', args=[entry.uuid])}?game={number}")
    side = LaneSide(entry, number)
    shot_form = ShotForm(entry, side.pair, initial=first_values(side))
    context = context_of(request, side, shot_form) | {"pair_form": form}
    return render(request, "sessions/lane_side.html", context, status=400)


# --- shared with practice and corrections -------------------------------------------------------------


def after_write(
    request: HttpRequest, entry: BlockEntry, said: str, number: int | None, *, is_refusal: bool = False
) -> HttpResponse:
    """The panel for the next throw with what was just saved or refused; without htmx the page itself."""
    fresh = side_after(entry, number)
    if not request.htmx:  # type: ignore[attr-defined]
        (messages.error if is_refusal else messages.success)(request, said)
        return redirect(address_of(fresh))
    form = ShotForm(entry, fresh.pair, initial=first_values(fresh))
    context = context_of(request, fresh, form) | {"said": said, "is_refusal": is_refusal}
    return render(request, "sessions/_lane_side.html", context, status=400 if is_refusal else 200)


def side_after(entry: BlockEntry, number: int | None) -> LaneSide:
    """The game being bowled; a game passed over before stays in sight until its frames are filled."""
    now = LaneSide(entry)
    if number is None or number >= now.number:
        return now
    earlier = LaneSide(entry, number)
    return now if earlier.is_over or earlier.has_line else earlier


def address_of(side: LaneSide) -> str:
    address = reverse("lane-side", args=[side.entry.uuid])
    return address if side.number == side.number_now else f"{address}?game={side.number}"


def show(request: HttpRequest, side: LaneSide, form: ShotForm, status: int) -> HttpResponse:
    name = "_lane_side.html" if request.htmx else "lane_side.html"  # type: ignore[attr-defined]
    return render(request, f"sessions/{name}", context_of(request, side, form), status=status)


def first_values(side: LaneSide | PracticeSide, taken: dict[str, Any] | None = None) -> dict[str, Any]:
    """What the form begins with; a ball that was put away meanwhile gives way to the first of the bag."""
    values = side.remembered() | (taken or {})
    uuids = [ball.uuid for ball in balls_to_choose(side.entry)]
    if str(values.get("ball")) not in map(str, uuids):
        values["ball"] = uuids[0] if uuids else None
    return values


def context_of(request: HttpRequest, side: LaneSide, form: ShotForm) -> dict[str, Any]:
    entry = side.entry
    return {
        "section": "events",
        "entry": entry,
        "bowler": entry.bowler,
        "side": side,
        "form": form,
        "balls": balls_to_choose(entry),
        "chosen_ball": str(form["ball"].value() or ""),
        "touched": {str(pin) for pin in form["left"].value() or ()},
        "may_change": may_change(person_of(request), entry),
        "pair_form": PairForm(entry),
        "log_url": reverse("shot-log", args=[entry.uuid]),
    }


def _game_asked(entry: BlockEntry, text: str | None) -> int | None:
    """The game an address names, None where it names none; 404 for one this block has not."""
    number = _game_number(entry, text)
    if text is not None and number is None:
        raise Http404
    return number


def _game_number(entry: BlockEntry, text: str | None) -> int | None:
    if text is None or not re.fullmatch("[0-9]{1,2}", text):
        return None
    return int(text) if 1 <= int(text) <= entry.block.games_planned else None
