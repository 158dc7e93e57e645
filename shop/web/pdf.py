"""A paper as an answer: shown by the browser, and saved under a telling name."""

from django.http import HttpResponse
from django.utils.http import content_disposition_header


def pdf(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = content_disposition_header(False, name) or "inline"
    answer["Cache-Control"] = "private, no-store"
    return answer
