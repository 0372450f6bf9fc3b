"""API routes of advice."""

from django.urls import path

from sessions.advice_api import AdviceView, WorkStatusView

urlpatterns = [
    path("entries/<uuid:uuid>/advice/<int:left_number>/", AdviceView.as_view(), name="api-advice"),
    path("work-status/", WorkStatusView.as_view(), name="api-work-status"),
]
