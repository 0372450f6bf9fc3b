"""Forms about one bowler in one block: bag, objective, pairs, practice."""

import uuid
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.http import QueryDict

from arsenal.edits import StaleEdit
from arsenal.forms.voice import PlainForm
from arsenal.models import Ball, Bowler
from sessions.forms_base import moment_field, number_field
from sessions.limits import LANE, MOVE
from sessions.models import Block, BlockEntry, Lane, Objective, PracticeWindow

if TYPE_CHECKING:
    ModelChoiceField = forms.ModelChoiceField[Any]
    ModelMultipleChoiceField = forms.ModelMultipleChoiceField[Any]
else:
    ModelChoiceField = forms.ModelChoiceField
    ModelMultipleChoiceField = forms.ModelMultipleChoiceField


class LaneField(ModelChoiceField):
    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("queryset", Lane.objects.none())
        kwargs.setdefault(
            "error_messages",
            {
                "required": "Lane is missing: choose the lane the bowler starts on.",
                "invalid_choice": "Lane is not allowed: choose a lane of this house.",
            },
        )
        super().__init__(to_field_name="number", empty_label=None, **kwargs)


class PairForm(PlainForm, forms.Form):
    """The lane a bowler starts on says the pair and the side at once."""

    lane = LaneField(label="Starts on lane")

    def __init__(self, entry: BlockEntry, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lanes = self.fields["lane"]
        assert isinstance(lanes, LaneField)  # noqa: S101  (declared above)
        lanes.queryset = entry.block.event.house.lanes.order_by("number")


class PracticeForm(PairForm):
    uuid = forms.UUIDField(widget=forms.HiddenInput)
    kind = forms.ChoiceField(choices=PracticeWindow.Kind.choices, label="Kind of practice")
    started_at = moment_field("Began", help_text="Left empty: now.")

    field_order = ("kind", "lane", "started_at")

    def __init__(self, entry: BlockEntry, *args: Any, **kwargs: Any) -> None:
        super().__init__(entry, *args, **kwargs)
        self.fields["uuid"].initial = uuid.uuid4()
        first = entry.visits.select_related("left_lane", "right_lane").first()
        if first is not None:
            self.fields["lane"].initial = (
                first.left_lane if first.starts_on_left else first.right_lane
            ).number


class BagField(ModelMultipleChoiceField):
    def __init__(self) -> None:
        super().__init__(
            queryset=Ball.objects.none(),
            to_field_name="uuid",
            required=False,
            label="Bag for this block",
            widget=forms.CheckboxSelectMultiple,
            error_messages={
                "invalid_choice": "A ball of the bag is not allowed: only the bowler's own balls."
            },
        )


class EnterForm(PlainForm, forms.Form):
    """Which bowler bowls in the block; the bag begins with all balls in use, up to the event's limit."""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    bowler = forms.ModelChoiceField(
        queryset=Bowler.objects.none(),
        to_field_name="uuid",
        error_messages={
            "required": "Bowler is missing: choose one.",
            "invalid_choice": "Bowler is not allowed: choose one you may enter.",
        },
    )
    objective = forms.ChoiceField(choices=Objective.choices)

    def __init__(self, block: Block, bowlers: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["uuid"].initial = uuid.uuid4()
        field = self.fields["bowler"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101  (declared above)
        field.queryset = bowlers.filter(team=block.event.team, is_active=True)


class EntryForm(PlainForm, forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    objective = forms.ChoiceField(choices=Objective.choices)
    balls = BagField()

    def __init__(self, entry: BlockEntry, *args: Any, **kwargs: Any) -> None:
        carried = list(entry.bag.values_list("ball__uuid", flat=True))
        kwargs["initial"] = {"version": entry.version, "objective": entry.objective, "balls": carried}
        super().__init__(*args, **kwargs)
        balls = self.fields["balls"]
        assert isinstance(balls, BagField)  # noqa: S101  (declared above)
        balls.queryset = entry.bowler.balls.all()

    def show_stale(self, stale: StaleEdit) -> None:
        """What was chosen stays beside what is saved now; saving again puts it over the other change."""
        self.add_error(None, stale.message)
        saved = cast(BlockEntry, stale.current)
        names = saved.bag.order_by("ball__name").values_list("ball__name", flat=True)
        bag = ", ".join(names) or "empty"
        self.add_error(None, f"Saved now: {saved.get_objective_display()}; bag: {bag}.")
        again = QueryDict(mutable=True)
        again.update(self.data)
        again["version"] = str(stale.current.version)
        self.data = again


class PlanForm(PairForm):
    """The crossing as a pattern: a start, and so many pairs to the right after each game."""

    move_pairs = number_field(MOVE, required=True, label="Pairs to move after each game")
    first_lane = number_field(LANE, required=True, label="First lane used")
    last_lane = number_field(LANE, required=True, label="Last lane used")

    def __init__(self, entry: BlockEntry, *args: Any, **kwargs: Any) -> None:
        super().__init__(entry, *args, **kwargs)
        numbers = list(entry.block.event.house.lanes.order_by("number").values_list("number", flat=True))
        visits = list(entry.visits.select_related("left_lane", "right_lane"))
        self.fields["lane"].label = "Game 1 starts on lane"
        self.fields["move_pairs"].help_text = "To the right is positive; 0 stays on one pair."
        self.fields["move_pairs"].initial = 1
        self.fields["first_lane"].initial = numbers[0] if numbers else None
        self.fields["last_lane"].initial = numbers[-1] if numbers else None
        if visits:
            first = visits[0]
            self.fields["lane"].initial = (
                first.left_lane if first.starts_on_left else first.right_lane
            ).number
