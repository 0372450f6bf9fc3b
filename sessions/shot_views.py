"""Correcting a shot, and taking the newest one back."""

from typing import Any
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
from sessions.practice_views import after_practice
from sessions.recent_shots import told


class CorrectionForm(ShotForm):
    """The form of a shot as it was logged; the number read for one word does not stay with another."""

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        word, offset = data.get("hit_word"), data.get("offset_boards")
        was, read = self.initial["hit_word"], self.initial["offset_boards"]
        if word and was and word != was and offset is not None and offset == read:
            self.add_error(
                "offset_boards",
                f"Offset {read:g} boards was read for “{was}”: empty it, or type the one of “{word}”.",
            )
        return data


@login_required
def shot_edit(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """A correction is a new shot in the old one's place."""
    shot = get_changeable(person_of(request), Shot, uuid=uuid)
    where = shot.game or shot.practice
    assert where is not None  # noqa: S101  (the database refuses a shot of neither)
    lanes = (where.left_lane, where.right_lane)
    form = CorrectionForm(shot.entry, lanes, request.POST or None, initial=_as_logged(shot))
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
        said, is_refusal = f"Taken back {told(shot)}. It stays in the record.", False
    except ValidationError as error:
        said, is_refusal = " ".join(error.messages), True
    if shot.practice is not None:
        return after_practice(request, shot.practice, said, is_refusal=is_refusal)
    number = shot.game.number if shot.game else None
    return after_write(request, shot.entry, said, number, is_refusal=is_refusal)


def _back(shot: Shot) -> HttpResponse:
    if shot.practice is not None:
        return redirect("practice", shot.practice.uuid)
    return redirect(address_of(side_after(shot.entry, shot.game.number if shot.game else None)))


def _as_logged(shot: Shot) -> dict[str, object]:
    """What the form begins with; a number that only a word stood for is not stored and so not repeated."""
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
