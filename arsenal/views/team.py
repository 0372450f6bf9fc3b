"""The team: who is on it, links that let people join, and which team one looks at."""

import uuid

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from arsenal import access, joining
from arsenal.forms.people import InvitationForm, MemberForm, NewPersonForm
from arsenal.models import Invitation, Membership
from arsenal.views.person import membership_or_404, person_of


@login_required
def team_page(request: HttpRequest) -> HttpResponse:
    return _team_page(request, InvitationForm())


def _team_page(
    request: HttpRequest, form: InvitationForm, *, link: str = "", invitation: Invitation | None = None
) -> HttpResponse:
    person = person_of(request)
    mine = Membership.objects.filter(person=person).select_related("team").order_by("team__name", "pk")
    context = {"section": "team", "form": form, "mine": mine, "link": link, "new_invitation": invitation}
    membership = getattr(request, "membership", None)
    if membership is not None:
        team = membership.team
        members = access.visible(person, Membership).filter(team=team).select_related("person")
        invitations = access.changeable(person, Invitation).filter(team=team, used_at__isnull=True)
        context |= {
            "members": members.order_by("role", "person__first_name", "pk"),
            "roles": MemberForm.CHOICES,
            "invitations": invitations.filter(expires_at__gt=timezone.now()).order_by("expires_at"),
            "is_coach": access.is_coach(person, team),
        }
    return render(request, "arsenal/team.html", context, status=400 if form.errors else 200)


@login_required
@require_POST
@never_cache
def invite(request: HttpRequest) -> HttpResponse:
    """The link is shown in this one answer and can never be read again."""
    team = membership_or_404(request).team
    person = person_of(request)
    access.get_changeable(person, type(team), pk=team.pk)
    form = InvitationForm(request.POST)
    if not form.is_valid():
        return _team_page(request, form)
    invitation, token = Invitation.issue(
        team, form.cleaned_data["role"], person, note=form.cleaned_data["note"]
    )
    link = request.build_absolute_uri(reverse("join", args=[token]))
    return _team_page(request, InvitationForm(), link=link, invitation=invitation)


@login_required
@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    invitation = access.changeable(person_of(request), Invitation).filter(pk=pk, used_at__isnull=True).first()
    if invitation is None:
        raise Http404
    invitation.delete()
    messages.success(request, "The invitation is revoked; its link opens nothing any more.")
    return redirect("team")


@login_required
@require_POST
def member(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a member another role or take them off the team; a team keeps at least one coach."""
    membership = access.get_changeable(person_of(request), Membership, pk=pk)
    form = MemberForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose coach, player, guest, or remove.")
    elif not joining.change_role(membership, form.cleaned_data["role"]):
        messages.error(request, f"{membership.person} is the only coach; make another member coach first.")
    else:
        messages.success(request, f"{membership.person} is updated.")
    return redirect("team")


@login_required
@require_POST
def switch(request: HttpRequest) -> HttpResponse:
    chosen = _uuid_or_none(request.POST.get("team", ""))
    mine = Membership.objects.filter(person=person_of(request))
    membership = mine.filter(team__uuid=chosen).first() if chosen else None
    if membership is None:
        raise Http404
    request.session[access.TEAM_IN_SESSION] = membership.team_id
    return redirect("team")


def _uuid_or_none(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


@never_cache
@sensitive_post_parameters()
def join(request: HttpRequest, token: str) -> HttpResponse:
    """A link that opens nothing says so in one sentence, whatever the reason: a stranger learns nothing."""
    invitation = joining.open_invitation(token)
    if invitation is None:
        return render(request, "arsenal/join_closed.html", status=404)
    if request.user.is_authenticated:
        return _join_signed_in(request, token, invitation)
    form = NewPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        person = joining.join_as_new_person(token, form)
        if person is not None:
            login(request, person)
            return _joined(request, invitation)
        if not form.errors:
            return render(request, "arsenal/join_closed.html", status=404)
    context = {"invitation": invitation, "form": form, "token": token}
    return render(request, "arsenal/join.html", context, status=400 if form.errors else 200)


def _join_signed_in(request: HttpRequest, token: str, invitation: Invitation) -> HttpResponse:
    person = person_of(request)
    known = Membership.objects.filter(team=invitation.team, person=person).first()
    if request.method == "POST" and known is None:
        if joining.join_team(token, person) is None:
            return render(request, "arsenal/join_closed.html", status=404)
        return _joined(request, invitation)
    return render(request, "arsenal/join.html", {"invitation": invitation, "known": known, "token": token})


def _joined(request: HttpRequest, invitation: Invitation) -> HttpResponse:
    """To the desk, which says what comes next for somebody in this role."""
    request.session[access.TEAM_IN_SESSION] = invitation.team_id
    role = invitation.get_role_display().lower()
    messages.success(request, f"You joined {invitation.team} as {role}.")
    return redirect("desk")
