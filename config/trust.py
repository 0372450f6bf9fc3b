"""How a phone comes to trust this server, when script/server --lan made its certificate."""

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@never_cache
@require_safe
def trust(request: HttpRequest) -> HttpResponse:
    """The steps, and the fingerprint to compare with the one script/server printed."""
    fingerprint = _authority().fingerprint(hashes.SHA256()).hex(":").upper()
    return render(request, "trust.html", {"fingerprint": fingerprint})


@never_cache
@require_safe
def authority_certificate(request: HttpRequest) -> HttpResponse:
    """The authority's certificate in the form phones install; it is public, its key never leaves the disk."""
    content = _authority().public_bytes(serialization.Encoding.DER)
    return HttpResponse(
        content,
        content_type="application/x-x509-ca-cert",
        headers={"Content-Disposition": 'attachment; filename="burnline-authority.crt"'},
    )


def _authority() -> x509.Certificate:
    """The certificate in use. A server that has none of its own making has nothing to trust."""
    path = settings.CERTIFICATE_DIR / "authority.crt"
    if not settings.TLS or not path.exists():
        raise Http404
    return x509.load_pem_x509_certificate(path.read_bytes())
