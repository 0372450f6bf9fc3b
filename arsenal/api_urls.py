"""API routes."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.permissions import IsAuthenticated
from rest_framework.routers import SimpleRouter

from arsenal import api

router = SimpleRouter(use_regex_path=False)
router.register("teams", api.TeamViewSet, basename="api-team")
router.register("bowlers", api.BowlerViewSet, basename="api-bowler")
router.register("releases", api.ReleaseViewSet, basename="api-release")
router.register("balls", api.BallViewSet, basename="api-ball")
router.register("layouts", api.LayoutViewSet, basename="api-layout")
router.register("surface-entries", api.SurfaceEntryViewSet, basename="api-surface-entry")

urlpatterns = [
    path("me/", api.MeView.as_view(), name="api-me"),
    path("schema/", SpectacularAPIView.as_view(permission_classes=[IsAuthenticated]), name="api-schema"),
    path("", include(router.urls)),
]
