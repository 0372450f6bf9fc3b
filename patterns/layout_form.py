"""What a comparison of two layouts is asked for: all of it stands in the address, nothing is stored."""

from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from arsenal import access
from arsenal.forms.base import NumberField
from arsenal.limits import Limit
from arsenal.models import Ball, Layout, Release
from arsenal.models.people import Person
from motion.inputs import LAYDOWN_BOARD
from patterns.models import PatternVersion

ON_LANE = {
    "laydown_board": Limit("Laydown", *LAYDOWN_BOARD, "(board)"),
    "target_board": Limit("Target", *LAYDOWN_BOARD, "(board)"),
}
LAYOUT = ("pin_to_pap_in", "drilling_angle_deg", "val_angle_deg")


if TYPE_CHECKING:
    ReleaseField = forms.ModelChoiceField[Release]
else:
    ReleaseField = forms.ModelChoiceField


class ReleaseChoice(ReleaseField):
    """Releases of one bowler, whose name need not be said each time."""

    def label_from_instance(self, obj: Release) -> str:
        return str(obj.get_kind_display())


class LayoutComparisonForm(forms.Form):
    """A film, a release, a line, and the layout to set beside the ball's own."""

    version = forms.ModelChoiceField(
        label=_("Pattern"), queryset=PatternVersion.objects.none(), empty_label=None
    )
    release = ReleaseChoice(label=_("Release"), queryset=Release.objects.none(), empty_label=None)
    laydown_board = NumberField(limit=ON_LANE["laydown_board"], label=_("Laydown, board"), required=False)
    target_board = NumberField(
        limit=ON_LANE["target_board"],
        label=_("Target at 15 ft, board"),
        required=False,
    )
    pin_to_pap_in = NumberField(limit=Layout.LIMITS["pin_to_pap_in"], label=_("Pin to PAP (in)"))
    drilling_angle_deg = NumberField(
        limit=Layout.LIMITS["drilling_angle_deg"], label=_("Drilling angle (degrees)")
    )
    val_angle_deg = NumberField(limit=Layout.LIMITS["val_angle_deg"], label=_("VAL angle (degrees)"))

    def __init__(self, data: Any, *, person: Person, ball: Ball) -> None:
        super().__init__(data)
        versions = access.visible(person, PatternVersion).filter(pattern__team=ball.bowler.team_id)
        releases = access.visible(person, Release).filter(bowler=ball.bowler_id).select_related("bowler")
        self._offer("version", versions.select_related("pattern").order_by("pattern__name", "-number"))
        self._offer("release", releases.order_by("-kind"))

    def _offer(self, name: str, rows: QuerySet[Any]) -> None:
        field = cast(Any, self.fields[name])
        field.queryset = rows
        field.error_messages["invalid_choice"] = _("%(field)s “%(value)s” is not one of those listed.") % {
            "field": field.label,
            "value": str(self.data.get(name, ""))[:40],
        }
        field.error_messages["required"] = _("%(field)s is missing: choose one of those listed.") % {
            "field": field.label
        }

    @property
    def can_ask(self) -> bool:
        """Whether there is a film and a release to choose from."""
        return all(cast(Any, self.fields[name]).queryset.exists() for name in ("version", "release"))

    def clean(self) -> dict[str, Any]:
        """A line is typed whole, or left whole to the model."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        for name, limit in ON_LANE.items():
            if cleaned.get(name) is None and name not in self.errors:
                others = [other for other in ON_LANE if other != name]
                if any(str(self.data.get(other, "")).strip() for other in others):
                    self.add_error(name, limit.missing())
        return cleaned

    @property
    def layout(self) -> dict[str, float]:
        return {name: float(self.cleaned_data[name]) for name in LAYOUT}
