"""API routes."""

from rest_framework.routers import SimpleRouter

from patterns.api import PatternViewSet, VersionViewSet

router = SimpleRouter(use_regex_path=False)
router.register("patterns", PatternViewSet, basename="api-pattern")
router.register("patterns/<uuid:pattern>/versions", VersionViewSet, basename="api-pattern-version")

urlpatterns = router.urls
