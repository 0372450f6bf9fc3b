"""Routes of the desk, the review, advice, comments and the state of background work."""

from django.urls import path

from sessions import advice_views, comment_views, desk_views, review_views

urlpatterns = [
    path("", desk_views.desk, name="desk"),
    path("blocks/<uuid:uuid>/review/", review_views.review, name="review"),
    path("games/<uuid:uuid>/paths/", review_views.review_paths, name="review-paths"),
    path("entries/<uuid:uuid>/advice/<int:left_number>/", advice_views.advice, name="advice"),
    path("entries/<uuid:uuid>/advice/<int:left_number>/ask/", advice_views.ask, name="advice-ask"),
    path("entries/<uuid:uuid>/advice/<int:left_number>/cancel/", advice_views.cancel, name="advice-cancel"),
    path("comments/<str:kind>/<uuid:uuid>/", comment_views.comments, name="comments"),
    path("work-status/", advice_views.work_status, name="work-status"),
]
