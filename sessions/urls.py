"""Page routes of the logbook."""

from django.urls import include, path

from sessions import (
    block_views,
    entry_views,
    event_views,
    game_line_views,
    house_views,
    lane_side_views,
    practice_views,
    shot_views,
)

urlpatterns = [
    path("", include("sessions.desk_urls")),
    path("houses/", house_views.house_list, name="houses"),
    path("houses/new/", house_views.house_new, name="house-new"),
    path("houses/<uuid:uuid>/", house_views.house, name="house"),
    path("houses/<uuid:uuid>/edit/", house_views.house_edit, name="house-edit"),
    path("houses/<uuid:uuid>/dress/", house_views.house_dress, name="house-dress"),
    path("dressings/<uuid:uuid>/undo/", house_views.dressing_undo, name="dressing-undo"),
    path("events/", event_views.event_list, name="events"),
    path("events/new/", event_views.event_new, name="event-new"),
    path("events/<uuid:uuid>/", event_views.event, name="event"),
    path("events/<uuid:uuid>/edit/", event_views.event_edit, name="event-edit"),
    path("events/<uuid:uuid>/blocks/new/", block_views.block_new, name="block-new"),
    path("blocks/<uuid:uuid>/", block_views.block, name="block"),
    path("blocks/<uuid:uuid>/edit/", block_views.block_edit, name="block-edit"),
    path("blocks/<uuid:uuid>/state/", block_views.block_state, name="block-state"),
    path("blocks/<uuid:uuid>/enter/", entry_views.entry_new, name="entry-new"),
    path("entries/<uuid:uuid>/", entry_views.entry_edit, name="entry-edit"),
    path("entries/<uuid:uuid>/plan/", entry_views.entry_plan, name="entry-plan"),
    path("entries/<uuid:uuid>/put-away/", entry_views.ball_put_away, name="ball-put-away"),
    path("entries/<uuid:uuid>/lane-side/", lane_side_views.lane_side, name="lane-side"),
    path("entries/<uuid:uuid>/shots/", lane_side_views.shot_log, name="shot-log"),
    path("entries/<uuid:uuid>/games/<int:number>/pair/", lane_side_views.game_pair, name="game-pair"),
    path("entries/<uuid:uuid>/games/<int:number>/line/", game_line_views.game_line, name="game-line"),
    path("game-lines/<uuid:uuid>/undo/", game_line_views.line_undo, name="line-undo"),
    path("shots/<uuid:uuid>/edit/", shot_views.shot_edit, name="shot-edit"),
    path("shots/<uuid:uuid>/undo/", shot_views.shot_undo, name="shot-undo"),
    path("entries/<uuid:uuid>/practice/new/", practice_views.practice_new, name="practice-new"),
    path("practice/<uuid:uuid>/", practice_views.practice, name="practice"),
    path("practice/<uuid:uuid>/shots/", practice_views.practice_log, name="practice-log"),
]
