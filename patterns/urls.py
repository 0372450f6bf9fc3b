"""Page routes."""

from django.urls import path

from patterns import views

urlpatterns = [
    path("patterns/", views.pattern_list, name="patterns"),
    path("patterns/new/", views.pattern_new, name="pattern-new"),
    path("patterns/parse/", views.pattern_parse, name="pattern-parse"),
    path("patterns/<uuid:pattern>/", views.pattern_page, name="pattern"),
    path("patterns/<uuid:pattern>/edit/", views.pattern_edit, name="pattern-edit"),
    path("patterns/<uuid:pattern>/versions/<int:number>/", views.version_page, name="pattern-version"),
    path("patterns/<uuid:pattern>/versions/<int:number>/csv/", views.version_csv, name="pattern-csv"),
]
