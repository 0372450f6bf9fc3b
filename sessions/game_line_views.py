"""A whole game typed in half a minute, by the player or the coach."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from arsenal.access import get_changeable, get_visible, may_change
from arsenal.views.person import person_of
from motion.notation import parse_game
from sessions import record
from sessions.counted import counted_line, counted_shots, stretches_bowled
from sessions.forms_base import written
from sessions.forms_line import LineForm
from sessions.lane_side import LaneSide
from sessions.models import BlockEntry, GameLine
from sessions.progress import is_over


@login_required
def game_line(request: HttpRequest, uuid: UUID, number: int) -> HttpResponse:
    get = get_changeable if request.method == "POST" else get_visible
    entry = get(person_of(request), BlockEntry, uuid=uuid)
    if not 1 <= number <= entry.block.games_planned:
        raise Http404
    side = LaneSide(entry, number)
    line = counted_line(side.game) if side.game else None
    form = LineForm(entry, line, request.POST or None)
    typed = written(form, lambda _: _type(request, entry, number, form))
    if typed is not None:
        messages.success(request, f"Game {number} is saved: {typed.line.notation}{_unfinished(typed.line)}")
        return redirect("lane-side", entry.uuid)
    context = {
        "section": "events",
        "entry": entry,
        "side": side,
        "line": line,
        "stretches": stretches_bowled(line) if line else (),
        "form": form,
        "may_change": may_change(person_of(request), entry),
    }
    return render(request, "sessions/game_line.html", context, status=400 if form.is_bound else 200)


def _type(request: HttpRequest, entry: BlockEntry, number: int, form: LineForm) -> record.TypedLine:
    data = form.cleaned_data
    return record.log_line(
        entry,
        number,
        notation=data["notation"],
        stretches=form.stretches(),
        bowled_at=data["bowled_at"],
        by=person_of(request),
        uid=data["uuid"],
        instead_of_shots=data["instead_of_shots"],
    )


def _unfinished(line: GameLine) -> str:
    """What a line that stops before the game is over says after it was saved; nothing for a whole game."""
    frames = parse_game(line.notation)
    if is_over(frames):
        return ""
    return f". {len(frames)} frame{'' if len(frames) == 1 else 's'}: game not finished."


@login_required
@require_POST
def line_undo(request: HttpRequest, uuid: UUID) -> HttpResponse:
    line = get_changeable(person_of(request), GameLine, uuid=uuid)
    try:
        record.undo_line(line)
        again = " The shots it took the place of count again." if counted_shots(line.game) else ""
        said = f"Line of game {line.game.number} taken back. It stays in the record.{again}"
        messages.success(request, said)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("game-line", line.game.entry.uuid, line.game.number)
