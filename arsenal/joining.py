"""How people come onto a team and change their place on it."""

from django.db import IntegrityError, transaction
from django.utils import timezone

from arsenal.forms.people import MemberForm, NewPersonForm
from arsenal.models import Invitation, Membership, Person
from arsenal.models.people import Role, hash_token


def open_invitation(token: str) -> Invitation | None:
    """The invitation this link still opens: known, not used and not expired."""
    found = Invitation.objects.select_related("team").filter(token_hash=hash_token(token)).first()
    return found if found is not None and found.is_open else None


class _Spent(Exception):
    """The link was used up between showing the page and sending it."""


def join_team(token: str, person: Person) -> Membership | None:
    """Use the invitation up for this person; None when it no longer opens anything."""
    try:
        with transaction.atomic():
            return _use(token, person)
    except _Spent:
        return None


def join_as_new_person(token: str, form: NewPersonForm) -> Person | None:
    """Make the account and join in one step, so a spent link leaves no account behind.

    None when the link opens nothing any more, or the form says what is wrong after all.
    """
    try:
        with transaction.atomic():
            person: Person = form.save()
            _use(token, person)
    except _Spent:
        return None
    except IntegrityError:
        form.add_error("username", "Somebody took this name a moment ago; choose another.")
        return None
    return person


def _use(token: str, person: Person) -> Membership:
    # One conditional update decides, so a link clicked twice at once lets one person in.
    now = timezone.now()
    spent = Invitation.objects.filter(
        token_hash=hash_token(token), used_at__isnull=True, expires_at__gt=now
    ).update(used_at=now, used_by=person)
    if not spent:
        raise _Spent
    invitation = Invitation.objects.get(token_hash=hash_token(token))
    membership, _ = Membership.objects.get_or_create(
        team=invitation.team, person=person, defaults={"role": invitation.role}
    )
    return membership


def change_role(membership: Membership, role: str) -> bool:
    """Give the member a role, or remove them; False when that would leave the team without a coach."""
    with transaction.atomic():
        coaches = Membership.objects.select_for_update().filter(team=membership.team_id, role=Role.COACH)
        if role != Role.COACH and [coach.pk for coach in coaches] == [membership.pk]:
            return False
        if role == MemberForm.REMOVE:
            membership.delete()
        else:
            membership.role = role
            membership.save(update_fields=["role"])
    return True
