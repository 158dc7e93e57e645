"""What somebody last asked of a list. A nicety: it is written only when it changed, and never stands in anybody's way."""

from django.db import transaction

from shop.models import KeptFilter, Staff

LONGEST = 1000


def kept_filter(person: Staff, page: str) -> str:
    """The query of the address, without `?`; empty where the list was left as it usually opens."""
    return KeptFilter.objects.filter(person=person, page=page).values_list("query", flat=True).first() or ""


def keep_filter(person: Staff, page: str, query: str) -> bool:
    """Remember a query, or forget with an empty one; whether anything was written. One too long to keep is forgotten, too."""
    query = query if len(query) <= LONGEST else ""
    if query == kept_filter(person, page):
        return False
    with transaction.atomic():
        if query:
            KeptFilter.objects.update_or_create(person=person, page=page, defaults={"query": query})
        else:
            KeptFilter.objects.filter(person=person, page=page).delete()
    return True
