"""Signing in and out, and a person's own settings."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from arsenal.forms.people import AccountForm, NewPasswordForm, SignInForm
from arsenal.views.person import person_of


class SignIn(LoginView):
    template_name = "arsenal/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class SignOut(LogoutView):
    pass


@login_required
def account(request: HttpRequest) -> HttpResponse:
    """Two forms on one page; `part` says which was sent."""
    person = person_of(request)
    part = request.POST.get("part")
    settings_form = AccountForm(request.POST if part == "settings" else None, instance=person)
    password_form = NewPasswordForm(person, request.POST if part == "password" else None)
    # Two forms share the page: neither takes the focus, least of all on a phone.
    password_form.fields["old_password"].widget.attrs.pop("autofocus", None)
    if part == "settings" and settings_form.is_valid():
        settings_form.save()
        messages.success(request, "Your settings are saved.")
        return redirect("account")
    if part == "password" and password_form.is_valid():
        update_session_auth_hash(request, password_form.save())
        messages.success(request, "Your password is changed; other devices must sign in again.")
        return redirect("account")
    context = {"section": "account", "settings_form": settings_form, "password_form": password_form}
    return render(request, "arsenal/account.html", context, status=400 if part else 200)
