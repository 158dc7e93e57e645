"""What is answered where a fault ends a request outside of its view: while who asks is looked up, while a session is written."""

import sys

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from shop.web.busy import hindered
from shop.web.hindrances import hindrance_of


def broken(request: HttpRequest) -> HttpResponse:
    """Called by the framework while the fault is being handled."""
    found = hindrance_of(sys.exc_info()[1])
    return hindered(request, found) if found else HttpResponse(render_to_string("500.html"), status=500)
