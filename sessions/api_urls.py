"""API routes."""

from django.urls import include, path

urlpatterns = [path("", include("sessions.advice_api_urls"))]
