"""Page routes."""

from django.urls import path

from arsenal.views import account, bags, balls, surface, team

urlpatterns = [
    path("sign-in/", account.SignIn.as_view(), name="sign-in"),
    path("sign-out/", account.SignOut.as_view(), name="sign-out"),
    path("account/", account.account, name="account"),
    path("team/", team.team_page, name="team"),
    path("team/switch/", team.switch, name="team-switch"),
    path("team/invitations/new/", team.invite, name="invitation-new"),
    path("team/invitations/<int:pk>/revoke/", team.revoke, name="invitation-revoke"),
    path("team/members/<int:pk>/", team.member, name="member"),
    path("join/<str:token>/", team.join, name="join"),
    path("bags/", bags.bags, name="bags"),
    path("bags/new/", bags.bowler_new, name="bowler-new"),
    path("bags/<uuid:bowler>/", bags.bag, name="bag"),
    path("bags/<uuid:bowler>/edit/", bags.bowler_edit, name="bowler-edit"),
    path("bags/<uuid:bowler>/releases/new/", bags.release_new, name="release-new"),
    path("releases/<uuid:release>/edit/", bags.release_edit, name="release-edit"),
    path("bags/<uuid:bowler>/balls/new/", balls.ball_new, name="ball-new"),
    path("balls/<uuid:ball>/", balls.ball_page, name="ball"),
    path("balls/<uuid:ball>/edit/", balls.ball_edit, name="ball-edit"),
    path("balls/<uuid:ball>/layout/", balls.layout_edit, name="layout-edit"),
    path("balls/<uuid:ball>/surface/new/", surface.surface_new, name="surface-new"),
    path("surface/<uuid:entry>/correct/", surface.surface_correct, name="surface-correct"),
]
