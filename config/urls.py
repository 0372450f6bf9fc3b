"""All routes: pages by app, the API under /api/."""

from django.urls import include, path

from config.health import healthz

urlpatterns = [
    path("healthz", healthz, name="healthz"),
    path("", include("sessions.urls")),
    path("", include("arsenal.urls")),
    path("", include("patterns.urls")),
    path("api/", include("sessions.api_urls")),
    path("api/", include("arsenal.api_urls")),
    path("api/", include("patterns.api_urls")),
]
