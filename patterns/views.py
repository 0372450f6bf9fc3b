"""Pages that show patterns."""

import csv
import uuid

from django.contrib.auth.decorators import login_required
from django.db.models import F, Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from arsenal import access
from arsenal.views.person import team_in_view
from patterns import pictures
from patterns.export import columns_of
from patterns.models import Pattern, PatternVersion
from patterns.presentation import VersionView, asked_distances, ratio_words
from patterns.sheet_reader import all_labels
from patterns.writers import may_write


@login_required
def pattern_list(request: HttpRequest) -> HttpResponse:
    newest = (
        access.visible(request.user, PatternVersion)
        .filter(pattern__team=team_in_view(request))
        .annotate(last=Max("pattern__versions__number"))
        .filter(number=F("last"))
        .select_related("pattern")
        .order_by("pattern__name", "pk")
    )
    views = [VersionView.of(version) for version in newest]
    scale = pictures.scale_for([view.film_um for view in views])
    rows = [_list_row(view, scale) for view in views]
    context = {"section": "patterns", "rows": rows, "may_write": may_write(request)}
    return render(request, "patterns/patterns.html", context)


def _list_row(view: VersionView, scale: pictures.Scale) -> dict[str, object]:
    middle = view.version.length_ft / 2.0
    ratio = view.ratio_at(middle)
    return {
        "pattern": view.version.pattern,
        "version": view.version,
        "view": view,
        "thumb": pictures.film_thumb_svg(
            view.film_um, length_ft=view.version.length_ft, title=view.version.pattern.name, scale=scale
        ),
        "middle": middle,
        "right": ratio_words(ratio.right),
        "left": ratio_words(ratio.left),
    }


@login_required
def pattern_page(request: HttpRequest, pattern: uuid.UUID) -> HttpResponse:
    found = access.get_visible(request.user, Pattern, uuid=pattern)
    return _page(request, found, found.versions.order_by("-number").first())


@login_required
def version_page(request: HttpRequest, pattern: uuid.UUID, number: int) -> HttpResponse:
    found = access.get_visible(request.user, PatternVersion, pattern__uuid=pattern, number=number)
    return _page(request, found.pattern, found)


def _page(request: HttpRequest, pattern: Pattern, version: PatternVersion | None) -> HttpResponse:
    versions = list(pattern.versions.order_by("-number").select_related("created_by"))
    context: dict[str, object] = {
        "section": "patterns",
        "pattern": pattern,
        "version": version,
        "versions": versions,
        "newest": versions[0] if versions else None,
        "may_change": access.may_change(request.user, pattern),
    }
    if version is not None:
        view = VersionView.of(version)
        distances, said = asked_distances(request.GET.getlist("at"), view.usual_distances())
        offered = sorted({*view.usual_distances(), *view.own_distances(), *distances})
        context |= {
            "view": view,
            "offered": [{"distance": d, "chosen": d in distances} for d in offered],
            "sections": view.sections(distances),
            "ratios": view.ratios(distances),
            "said": said,
        }
    return render(request, "patterns/pattern.html", context)


@login_required
def version_csv(request: HttpRequest, pattern: uuid.UUID, number: int) -> HttpResponse:
    """The table of a version, boards down, as the entry form reads it back; the corner says how closely."""
    found = access.get_visible(request.user, PatternVersion, pattern__uuid=pattern, number=number)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="pattern-{found.pattern.uuid}-v{number}.csv"'
    writer = csv.writer(response)
    columns = columns_of(found)
    corner = "board"
    if columns.error_units is not None:
        corner = f"board (rebuilt film read back within {columns.error_units:.2f} units)"
    writer.writerow([corner, *(f"{distance:.12g}" for distance in columns.distances_ft)])
    for board, label in enumerate(all_labels()):
        writer.writerow([label, *(f"{row[board]:.12g}" for row in columns.oil)])
    return response
