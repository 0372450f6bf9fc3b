"""Writes of houses: lanes and when each was dressed, or known not to be."""

import uuid
from collections.abc import Collection
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404
from django.utils import timezone

from arsenal.edits import create_once, save_edit
from arsenal.limits import Limit
from arsenal.models import Person
from patterns.models import PatternVersion
from sessions.dependents import reading_lanes
from sessions.facts import refuse_moment
from sessions.jobs import owe
from sessions.limits import LANES
from sessions.models import Block, Dressing, House, Lane, NotDressed


def save_house(
    house: House, lanes: int, *, by: Person, expected_version: int | None = None
) -> tuple[House, bool]:
    """Store a house with lanes 1 to `lanes`, an even number; lanes are only ever added."""
    _check_lanes(house, lanes)
    house.full_clean(exclude=["uuid"], validate_unique=False)
    with transaction.atomic():
        created = False
        if house.pk is None:
            house, created = create_once(house, by)
            if not created:
                return house, False
        else:
            save_edit(house, expected_version or 0, by)
        there = set(house.lanes.values_list("number", flat=True))
        Lane.objects.bulk_create(Lane(house=house, number=n) for n in range(1, lanes + 1) if n not in there)
    return house, created


def dress_lanes(
    house: House,
    lanes: Collection[Lane],
    version: PatternVersion,
    *,
    done_at: datetime,
    before_block: Block | None,
    note: str = "",
    by: Person,
    uid: uuid.UUID,
) -> list[Dressing]:
    """Lanes freshly oiled, one entry per lane; the same submission again finds its entries."""
    if not lanes:
        raise ValidationError({"lanes": "Lanes are missing: choose at least one."})
    if strange := [lane for lane in lanes if lane.house_id != house.pk]:
        raise ValidationError({"lanes": f"Lane {strange[0].number} is not allowed: not of this house."})
    with transaction.atomic():
        made = [
            _dress(lane, version, done_at, before_block, note, by, uuid.uuid5(uid, str(lane.number)))
            for lane in lanes
        ]
        if any(created for _, created in made):
            owe(reading_lanes(lane.pk for lane in lanes))
    return [dressing for dressing, _ in made]


def dress_lane(
    lane: Lane,
    version: PatternVersion,
    *,
    done_at: datetime,
    before_block: Block | None,
    note: str = "",
    by: Person,
    uid: uuid.UUID,
) -> tuple[Dressing, bool]:
    """One lane freshly oiled: (entry, was it new)."""
    with transaction.atomic():
        dressing, created = _dress(lane, version, done_at, before_block, note, by, uid)
        if created:
            owe(reading_lanes([lane.pk]))
    return dressing, created


def leave_undressed(lanes: Collection[Lane], block: Block, *, by: Person) -> list[NotDressed]:
    """It is known that these lanes were not dressed again before the block, so their traffic runs on."""
    if not lanes:
        raise ValidationError({"lanes": "Lanes are missing: choose at least one."})
    for lane in lanes:
        if lane.dressings.filter(before_block=block).exists():
            raise ValidationError(
                {"lanes": f"Lane {lane.number} was dressed before {block.name}. Undo that first."}
            )
    with transaction.atomic():
        known = [
            NotDressed.objects.get_or_create(lane=lane, before_block=block, defaults={"entered_by": by})
            for lane in lanes
        ]
        if new := [row.lane_id for row, created in known if created]:
            owe(reading_lanes(new))
    return [row for row, _ in known]


def undo_dressing(dressing: Dressing) -> Dressing:
    """Take a wrong entry back; it stays in the record. Undoing twice is undoing once."""
    with transaction.atomic():
        now = timezone.now()
        if Dressing.objects.filter(pk=dressing.pk).update(undone_at=now):
            dressing.undone_at = now
            owe(reading_lanes([dressing.lane_id]))
    return dressing


def _check_lanes(house: House, lanes: int) -> None:
    there = house.lanes.count() if house.pk else 0
    limit = Limit(LANES.label, max(LANES.low, there), LANES.high, whole=True)
    if why := limit.refusal(lanes):
        raise ValidationError({"lanes": why})
    if lanes % 2:
        raise ValidationError(
            {"lanes": f"Number of lanes {lanes} is not allowed: an even number, lanes come in pairs."}
        )


def _dress(
    lane: Lane,
    version: PatternVersion,
    done_at: datetime,
    before_block: Block | None,
    note: str,
    by: Person,
    uid: uuid.UUID,
) -> tuple[Dressing, bool]:
    wrong = refuse_moment(done_at, "done_at", "When dressed")
    if version.pattern.team_id != lane.house.team_id:
        wrong["pattern_version"] = "Pattern is not allowed: it is not one of this team's."
    if before_block is not None and before_block.event.house_id != lane.house_id:
        wrong["before_block"] = f"Block {before_block.name} is not allowed: it is bowled in another house."
    if wrong:
        raise ValidationError(wrong)
    # A sending that comes again after its entry was undone finds that entry, and dresses nothing anew.
    if (known := Dressing.with_undone.filter(uuid=uid).first()) is not None:
        if known.lane_id != lane.pk:
            raise Http404
        return known, False
    new = Dressing(
        uuid=uid,
        lane=lane,
        # A clock that runs ahead is forgiven, but nothing would count until its time came.
        done_at=min(done_at, timezone.now()),
        pattern_version=version,
        before_block=before_block,
        note=note,
        entered_by=by,
    )
    if before_block is not None:
        NotDressed.objects.filter(lane=lane, before_block=before_block).delete()
    return create_once(new, by)
