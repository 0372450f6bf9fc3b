"""What the middleware adds to the request of a page."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from arsenal.models import Membership


class PageRequest(HttpRequest):
    """Only a type: Django makes plain requests, and middleware puts these on them."""

    htmx: HtmxDetails
    membership: Membership | None
