"""What a browser may load for our pages: nothing from elsewhere, and no script or style inside the page."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

RULES = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data: blob:",
    "connect-src": "'self'",
    "form-action": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
}
DOCS = RULES | {"style-src": "'self' 'unsafe-inline'"}  # the API page sets styles from its own script


def content_security_policy(
    answer: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: the policy on every answer."""

    def with_policy(request: HttpRequest) -> HttpResponse:
        response = answer(request)
        rules = DOCS if request.path.startswith("/api/v1/docs/") else RULES
        response.headers.setdefault(
            "Content-Security-Policy", "; ".join(f"{name} {sources}" for name, sources in rules.items())
        )
        return response

    return with_policy
