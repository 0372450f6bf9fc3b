"""A block: who bowls in it, where, and how it stands."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from arsenal.access import changeable, get_changeable, get_visible, may_change, visible
from arsenal.views.person import person_of
from patterns.models import Pattern
from sessions import record
from sessions.edit_page import edit_page
from sessions.forms_event import BlockForm
from sessions.lane_films import films_of_block, other_sheets
from sessions.models import Block, BlockEntry, Event, House, PairVisit
from sessions.scores import BlockTotals, totals_by_entry


@dataclass(frozen=True)
class EntryRow:
    """One bowler of the block with what has been bowled and where it goes on."""

    entry: BlockEntry
    totals: BlockTotals
    visits: Sequence[PairVisit]
    may_change: bool

    @property
    def scores(self) -> list[int | None]:
        """One place per planned game: the score, or None before it begins."""
        by_number = {game.number: game.score.total for game in self.totals.games}
        return [by_number.get(number) for number in range(1, self.entry.block.games_planned + 1)]


@login_required
def block(request: HttpRequest, uuid: UUID) -> HttpResponse:
    found = get_visible(person_of(request), Block, uuid=uuid)
    entries = list(
        found.entries.select_related("bowler", "block").prefetch_related(
            "visits__left_lane", "visits__right_lane", "bag"
        )
    )
    mine = set(changeable(person_of(request), BlockEntry).filter(block=found).values_list("pk", flat=True))
    totals = totals_by_entry(entries)
    films = films_of_block(found, entries)
    context = {
        "section": "events",
        "this_block": found,
        "event": found.event,
        "rows": [EntryRow(e, totals[e.pk], list(e.visits.all()), e.pk in mine) for e in entries],
        "games": range(1, found.games_planned + 1),
        "lanes": films,
        "other_sheets": other_sheets(films),
        "states": Block.State.choices,
        "may_change": may_change(person_of(request), found),
        "sees_pattern": visible(person_of(request), Pattern)
        .filter(pk=found.pattern_version.pattern_id)
        .exists(),
        "sees_house": visible(person_of(request), House).filter(pk=found.event.house_id).exists(),
    }
    return render(request, "sessions/block.html", context)


@login_required
def block_new(request: HttpRequest, uuid: UUID) -> HttpResponse:
    event = get_changeable(person_of(request), Event, uuid=uuid)
    return _edit(request, BlockForm(request.POST or None, instance=Block(event=event)), "The block is saved.")


@login_required
def block_edit(request: HttpRequest, uuid: UUID) -> HttpResponse:
    found = get_changeable(person_of(request), Block, uuid=uuid)
    return _edit(request, BlockForm(request.POST or None, instance=found), "The block is saved.")


@login_required
@require_POST
def block_state(request: HttpRequest, uuid: UUID) -> HttpResponse:
    found = get_changeable(person_of(request), Block, uuid=uuid)
    try:
        found = record.set_block_state(found, request.POST.get("state", ""), by=person_of(request))
        messages.success(request, f"{found.name}: {found.get_state_display().lower()}.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("block", found.uuid)


def _edit(request: HttpRequest, form: BlockForm, said: str) -> HttpResponse:
    is_new = form.instance.pk is None
    return edit_page(
        request,
        form,
        template="sessions/block_form.html",
        context={"this_block": None if is_new else form.instance, "event": form.instance.event},
        then=lambda saved: reverse("block", args=[saved.uuid]),
        said=said,
    )
