"""API routes."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from sessions import api_comments, api_entries, api_events, api_shots
from sessions.advice_api import AdviceView, WorkStatusView

router = SimpleRouter(use_regex_path=False)
router.register("houses", api_events.HouseViewSet, basename="api-house")
router.register("dressings", api_events.DressingViewSet, basename="api-dressing")
router.register("events", api_events.EventViewSet, basename="api-event")
router.register("blocks", api_events.BlockViewSet, basename="api-block")
router.register("entries", api_entries.EntryViewSet, basename="api-entry")
router.register("games", api_entries.GameViewSet, basename="api-game")
router.register("practices", api_entries.PracticeViewSet, basename="api-practice")
router.register("shots", api_shots.ShotViewSet, basename="api-shot")
router.register("game-lines", api_shots.LineViewSet, basename="api-game-line")
router.register("comments", api_comments.CommentViewSet, basename="api-comment")

urlpatterns = [
    path("entries/<uuid:uuid>/advice/<int:left_number>/", AdviceView.as_view(), name="api-advice"),
    path("work-status/", WorkStatusView.as_view(), name="api-work-status"),
    path("", include(router.urls)),
]
