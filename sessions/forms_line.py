"""The form of a whole game: frames in trade notation, and ball and line by stretch of frames."""

import uuid
from typing import Any

from django import forms

from arsenal.forms.voice import PlainForm
from sessions.forms_base import ReleaseField, moment_field, number_field
from sessions.lane_side import remembered
from sessions.limits import STRETCH_LIMITS
from sessions.models import BlockEntry, GameLine
from sessions.record import StretchFacts

ROWS = 4
_PARTS = ("first_frame", "last_frame", "ball", "laydown_board", "target_board", "target_ft", "release")


class LineForm(PlainForm, forms.Form):
    """Rows without a ball are not used; row n's fields are stretch_n_ball and so on."""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    notation = forms.CharField(
        max_length=240,
        label="Frames",
        help_text="X strike, / spare, - miss, F foul, (8) or 8S a split: X 9/ 81 7- (8)1 X X 9/ X XX9",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        ),
        error_messages={"required": "Frames are missing: type them like X 9/ 81 7- (8)1."},
    )
    bowled_at = moment_field("When it was finished", help_text="Left empty: now.")
    instead_of_shots = forms.BooleanField(
        required=False, label="This line takes the place of the shots logged in this game"
    )

    def __init__(self, entry: BlockEntry, line: GameLine | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["uuid"].initial = uuid.uuid4()
        balls, releases = entry.bowler.balls.all(), entry.bowler.releases.all()
        for row in range(1, ROWS + 1):
            for name, field in _row_fields(balls, releases).items():
                self.fields[f"stretch_{row}_{name}"] = field
        self._begin_with(entry, line)

    def _begin_with(self, entry: BlockEntry, line: GameLine | None) -> None:
        """The line to be corrected; else one stretch over ten frames with ball and line of the last shot."""
        if line is not None:
            self.fields["notation"].initial = line.notation
            self.fields["bowled_at"].help_text = "Left empty: as before, or now where frames are added."
            for row, stretch in enumerate(line.stretches.all()[:ROWS], start=1):
                for name in _PARTS:
                    value = getattr(stretch, name)
                    self.fields[f"stretch_{row}_{name}"].initial = getattr(value, "uuid", value)
            return
        last = remembered(entry, new_rack=True, lane=None) | {"first_frame": 1, "last_frame": 10}
        for name in _PARTS:
            self.fields[f"stretch_1_{name}"].initial = last.get(name)

    @property
    def rows(self) -> list[dict[str, forms.BoundField]]:
        return [{name: self[f"stretch_{row}_{name}"] for name in _PARTS} for row in range(1, ROWS + 1)]

    @property
    def has_more_rows(self) -> bool:
        return any(row["ball"].value() for row in self.rows[1:])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for row in range(1, ROWS + 1):
            if not data.get(f"stretch_{row}_ball"):
                continue
            for name in ("first_frame", "last_frame"):
                field = f"stretch_{row}_{name}"
                if data.get(field) is None and field not in self.errors:
                    self.add_error(field, STRETCH_LIMITS[name].missing())
        return data

    def stretches(self) -> list[StretchFacts]:
        data = self.cleaned_data
        rows = [{name: data[f"stretch_{row}_{name}"] for name in _PARTS} for row in range(1, ROWS + 1)]
        return [StretchFacts(**row) for row in rows if row["ball"] is not None]


def _row_fields(balls: Any, releases: Any) -> dict[str, forms.Field]:
    release = ReleaseField()
    release.queryset = releases
    numbers = {name: number_field(limit) for name, limit in STRETCH_LIMITS.items()}
    return {
        **numbers,
        "ball": forms.ModelChoiceField(
            queryset=balls,
            to_field_name="uuid",
            required=False,
            label="Ball",
            empty_label="–",
            error_messages={"invalid_choice": "Ball is not allowed: choose one of the bowler's own balls."},
        ),
        "release": release,
    }
