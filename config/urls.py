"""All routes: pages by app, the API under /api/."""

from django.urls import include, path

from config.health import healthz
from config.trust import authority_certificate, trust

urlpatterns = [
    path("healthz", healthz, name="healthz"),
    path("trust/", trust, name="trust"),
    path("trust/burnline-authority.crt", authority_certificate, name="authority-certificate"),
    path("", include("sessions.urls")),
    path("", include("arsenal.urls")),
    path("", include("patterns.urls")),
    path("api/", include("sessions.api_urls")),
    path("api/", include("arsenal.api_urls")),
    path("api/", include("patterns.api_urls")),
]
