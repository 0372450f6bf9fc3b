"""One bowler in one block: the bag, what is put away, and which pairs."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from arsenal.access import changeable, get_changeable, get_visible
from arsenal.edits import StaleEdit
from arsenal.models import Ball, Bowler
from arsenal.views.person import person_of
from sessions import record
from sessions.forms_base import written
from sessions.forms_entry import EnterForm, EntryForm, PairForm, PlanForm
from sessions.models import Block, BlockEntry, PairVisit


@login_required
def entry_new(request: HttpRequest, uuid: UUID) -> HttpResponse:
    block = get_visible(person_of(request), Block, uuid=uuid)
    bowlers = changeable(person_of(request), Bowler)
    get_changeable(person_of(request), Block, uuid=uuid)
    form = EnterForm(block, bowlers.exclude(entries__block=block), request.POST or None)
    if form.is_bound:
        # A bowler entered a moment ago by this very form must be found again, not refused.
        form = EnterForm(block, bowlers, request.POST)
    entered = written(form, lambda data: _enter(request, block, data))
    if entered is not None:
        return redirect("entry-edit", entered.uuid)
    context = {"section": "events", "this_block": block, "form": form}
    return render(request, "sessions/entry_new.html", context, status=400 if form.is_bound else 200)


def _enter(request: HttpRequest, block: Block, data: dict[str, Any]) -> BlockEntry:
    balls = list(data["bowler"].balls.filter(in_bag=True).order_by("name"))
    return record.enter_bowler(
        block,
        data["bowler"],
        objective=data["objective"],
        balls=balls[: block.event.max_balls],
        by=person_of(request),
        uid=data["uuid"],
    )[0]


@login_required
def entry_edit(request: HttpRequest, uuid: UUID) -> HttpResponse:
    entry = get_changeable(person_of(request), BlockEntry, uuid=uuid)
    form = EntryForm(entry, request.POST or None)
    status = 400 if form.is_bound else 200
    try:
        saved = written(form, lambda data: _save(request, entry, data))
    except StaleEdit as stale:
        form.show_stale(stale)
        saved, status = None, 409
    if saved is not None:
        messages.success(request, "The bag is saved.")
        return redirect("entry-edit", entry.uuid)
    return _entry_page(request, entry, form, PlanForm(entry), status)


def _save(request: HttpRequest, entry: BlockEntry, data: dict[str, Any]) -> BlockEntry:
    return record.save_entry(
        entry,
        objective=data["objective"],
        balls=list(data["balls"]),
        by=person_of(request),
        expected_version=data["version"],
    )


@login_required
def entry_plan(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """The crossing plan as a pattern; single games are corrected one by one with their own form."""
    entry = get_changeable(person_of(request), BlockEntry, uuid=uuid)
    plan = PlanForm(entry, request.POST or None)
    if written(plan, lambda data: _plan(entry, data)) is not None:
        messages.success(request, "The pairs are saved.")
        return redirect("entry-edit", entry.uuid)
    return _entry_page(request, entry, EntryForm(entry), plan, 400 if plan.is_bound else 200)


def _plan(entry: BlockEntry, data: dict[str, Any]) -> list[PairVisit]:
    return record.plan_crossing(
        entry,
        start_lane=data["lane"].number,
        move_pairs=data["move_pairs"],
        starts_on_left=data["lane"].number % 2 == 1,
        first_lane=data["first_lane"],
        last_lane=data["last_lane"],
    )


@login_required
@require_POST
def ball_put_away(request: HttpRequest, uuid: UUID) -> HttpResponse:
    entry = get_changeable(person_of(request), BlockEntry, uuid=uuid)
    ball = get_visible(person_of(request), Ball, uuid=_uuid(request.POST.get("ball", "")))
    try:
        place = record.put_away(entry, ball, request.POST.get("away") == "yes")
        said = "put away: it is not offered any more" if place.put_away else "back in play"
        messages.success(request, f"{ball.name} {said}.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("entry-edit", entry.uuid)


def _entry_page(
    request: HttpRequest, entry: BlockEntry, form: EntryForm, plan: PlanForm, status: int
) -> HttpResponse:
    visits = {v.game_number: v for v in entry.visits.select_related("left_lane", "right_lane")}
    begun = set(entry.games.values_list("number", flat=True))
    context = {
        "section": "events",
        "entry": entry,
        "this_block": entry.block,
        "form": form,
        "plan": plan,
        "bag": entry.bag.select_related("ball").order_by("ball__name"),
        "carried": {str(uuid) for uuid in form["balls"].value() or ()},
        "games": [
            (number, visits.get(number), number in begun, _pair_form(entry, visits.get(number), number))
            for number in range(1, entry.block.games_planned + 1)
        ],
    }
    return render(request, "sessions/entry.html", context, status=status)


def _pair_form(entry: BlockEntry, visit: object, number: int) -> PairForm:
    start = None
    if visit is not None:
        start = (visit.left_lane if visit.starts_on_left else visit.right_lane).number  # type: ignore[attr-defined]
    return PairForm(entry, initial={"lane": start}, auto_id=f"id_game_{number}_%s")


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
