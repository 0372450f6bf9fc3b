"""The advice of a bowler on a pair, which looks for news by itself, and the state of background work."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from arsenal.access import BallNames, Reader, get_visible, may_change
from patterns.models import PatternVersion
from sessions import jobs
from sessions.advice_cards import LaneCard
from sessions.advice_sharing import hide_unshared_balls
from sessions.advice_state import AdviceState, advice_state
from sessions.limits import LANE
from sessions.models import Block, BlockEntry, Lane
from sessions.page_request import PageRequest
from sessions.work_state import work_state


def state_for(person: Reader, uuid: UUID, left_number: int) -> AdviceState:
    """The state of a pair in the house of a visible entry; 404 for anything else."""
    entry = get_visible(person, BlockEntry, uuid=uuid)
    if left_number % 2 == 0 or LANE.refusal(left_number):
        raise Http404
    numbers = (left_number, left_number + 1)
    lanes = Lane.objects.filter(house=entry.block.event.house_id, number__in=numbers).order_by("number")
    if len(lanes) != 2:
        raise Http404
    state = advice_state(entry, lanes[0], lanes[1])
    hide_unshared_balls(state.answers, entry.bowler, BallNames(person))
    return state


def _context(request: PageRequest, state: AdviceState) -> dict[str, object]:
    bowler = state.entry.bowler
    named = _sheet_of(state) if state.answers else None
    is_own = bowler.person_id == request.user.pk
    open_now = state.entry.block.state == Block.State.OPEN
    return {
        "section": "desk",
        "state": state,
        # A page of its own shows everything; beside other things the reasons wait until they are opened.
        "expanded": not request.htmx or "full" in request.GET,
        "cards": [LaneCard(answer, named, is_readers_own=is_own) for answer in state.answers],
        # Whoever follows another bowler may count boards from the other side.
        "side": "" if is_own else bowler.side_letter,
        "may_change": open_now and may_change(request.user, state.entry),
    }


def _sheet_of(state: AdviceState) -> PatternVersion:
    return PatternVersion.objects.select_related("pattern").get(blocks=state.entry.block_id)


def _inside(request: PageRequest, state: AdviceState) -> HttpResponse:
    return render(request, "sessions/_advice_inside.html", _context(request, state))


@login_required
@never_cache
@require_GET
def advice(request: PageRequest, uuid: UUID, left_number: int) -> HttpResponse:
    """A page; for htmx the fragment, or its inside when it looks by itself (204 when nothing is new)."""
    state = state_for(request.user, uuid, left_number)
    if not request.htmx:
        return render(request, "sessions/advice.html", _context(request, state))
    if "seen" not in request.GET:
        return render(request, "sessions/_advice.html", _context(request, state))
    if request.GET["seen"] == state.stamp:
        return HttpResponse(status=204)
    return _inside(request, state)


@login_required
@require_POST
def ask(request: PageRequest, uuid: UUID, left_number: int) -> HttpResponse:
    """Owe this bowler advice on this pair now."""
    state = _changeable_state(request, uuid, left_number)
    if state.entry.block.state == Block.State.OPEN:
        jobs.owe_anew(state.entry, state.left_lane, state.right_lane)
    return _answer(request, uuid, left_number)


@login_required
@require_POST
def cancel(request: PageRequest, uuid: UUID, left_number: int) -> HttpResponse:
    """Stop the work on this pair until new input comes or somebody asks."""
    state = _changeable_state(request, uuid, left_number)
    if state.owed is not None:
        jobs.cancel(state.owed)
    return _answer(request, uuid, left_number)


def _changeable_state(request: PageRequest, uuid: UUID, left_number: int) -> AdviceState:
    state = state_for(request.user, uuid, left_number)
    if not may_change(request.user, state.entry):
        raise PermissionDenied
    return state


def _answer(request: PageRequest, uuid: UUID, left_number: int) -> HttpResponse:
    if request.htmx:
        return _inside(request, state_for(request.user, uuid, left_number))
    return redirect("advice", uuid=uuid, left_number=left_number)


@login_required
@never_cache
@require_GET
def work_status(request: PageRequest) -> HttpResponse:
    """Whether worker and scheduler show life: a fragment for pages, plain data for anybody else."""
    state = work_state()
    if request.htmx:
        return render(request, "sessions/_work_status.html", {"work": state})
    return JsonResponse(state.as_dict())
