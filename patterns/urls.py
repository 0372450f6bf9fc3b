"""Page routes."""

from django.urls import path

from patterns import edit_views, layout_views, views

urlpatterns = [
    path("patterns/", views.pattern_list, name="patterns"),
    path("patterns/new/", edit_views.pattern_new, name="pattern-new"),
    path("patterns/parse/", edit_views.pattern_parse, name="pattern-parse"),
    path("patterns/<uuid:pattern>/", views.pattern_page, name="pattern"),
    path("patterns/<uuid:pattern>/edit/", edit_views.pattern_edit, name="pattern-edit"),
    path("patterns/<uuid:pattern>/versions/<int:number>/", views.version_page, name="pattern-version"),
    path("patterns/<uuid:pattern>/versions/<int:number>/csv/", views.version_csv, name="pattern-csv"),
    path("balls/<uuid:ball>/layouts/", layout_views.compare_layouts, name="compare-layouts"),
]
