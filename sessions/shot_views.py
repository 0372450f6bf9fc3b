"""Correcting a shot, and taking the newest one back."""

from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from arsenal.access import get_changeable
from arsenal.views.person import person_of
from motion.leaves import pins_of
from sessions import record
from sessions.forms_base import written
from sessions.forms_shot import ShotForm
from sessions.lane_side import deck
from sessions.lane_side_views import address_of, after_write, side_after
from sessions.limits import SHOT_LIMITS
from sessions.models import Shot
from sessions.recent_shots import told


@login_required
def shot_edit(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """A correction is a new shot in the old one's place."""
    shot = get_changeable(person_of(request), Shot, uuid=uuid)
    where = shot.game or shot.practice
    assert where is not None  # noqa: S101  (the database refuses a shot of neither)
    lanes = (where.left_lane, where.right_lane)
    form = ShotForm(shot.entry, lanes, request.POST or None, initial=_as_logged(shot))
    by = person_of(request)
    logged = written(form, lambda data: record.edit_shot(shot, form.facts(), by=by, uid=data["uuid"]))
    if logged is not None:
        messages.success(request, f"Corrected to {told(logged.shot)}.")
        return _back(logged.shot)
    context = {
        "section": "events",
        "shot": shot,
        "entry": shot.entry,
        "bowler": shot.entry.bowler,
        "form": form,
        "told": told(shot),
        "deck": deck(shot.pins_before),
        "new_rack": shot.throw_number == 1,
        "touched": {str(pin) for pin in form["left"].value() or ()},
        "balls": shot.entry.bowler.balls.all(),
        "chosen_ball": str(form["ball"].value() or ""),
    }
    return render(request, "sessions/shot_edit.html", context, status=400 if form.is_bound else 200)


@login_required
@require_POST
def shot_undo(request: HttpRequest, uuid: UUID) -> HttpResponse:
    shot = get_changeable(person_of(request), Shot, uuid=uuid)
    try:
        record.undo_shot(shot, by=person_of(request))
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return _back(shot)
    said = f"Taken back {told(shot)}. It stays in the record."
    if shot.game is None:
        messages.success(request, said)
        return _back(shot)
    return after_write(request, shot.entry, said, shot.game.number)


def _back(shot: Shot) -> HttpResponse:
    if shot.practice is not None:
        return redirect("practice", shot.practice.uuid)
    return redirect(address_of(side_after(shot.entry, shot.game.number if shot.game else None)))


def _as_logged(shot: Shot) -> dict[str, object]:
    values: dict[str, object] = {name: getattr(shot, name) for name in SHOT_LIMITS}
    is_leave = shot.pins_left not in (0, shot.pins_before)
    return values | {
        "uuid": uuid4(),
        "ball": shot.ball.uuid,
        "release": shot.release and shot.release.uuid,
        "lane": shot.lane.number,
        "left": list(pins_of(shot.pins_left)) if is_leave else [],
        "hit_word": shot.hit_word,
        "speed_read": shot.speed_read,
        "foul": shot.foul,
        "note": shot.note,
    }
