"""A table as a file to keep."""

from django.http import HttpRequest, HttpResponse
from django.utils.http import content_disposition_header

from billing.exports import TYPES, Sheet


def file_of(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    """`?as=xlsx` gives a workbook, anything else CSV."""
    ending = "xlsx" if request.GET.get("as") == "xlsx" else "csv"
    answer = HttpResponse(sheet.content(ending), content_type=TYPES[ending])
    answer["Content-Disposition"] = content_disposition_header(True, f"{sheet.name}.{ending}") or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer
