"""A form that was sent after its sender was signed out: kept in the sign-in page, signed, and sent again afterwards.

It holds no password and no chosen files. Only the person who typed it gets it back.
"""

from dataclasses import dataclass
from typing import Any

from django.core import signing
from django.http import HttpRequest

from shop.models import Staff

SALT, GOOD_FOR_SECONDS = "shop.sign_in.kept", 3600
# A form of this many characters is a whole called-for list; more is better sent from the page itself.
LONGEST = 1_000_000


@dataclass(frozen=True, slots=True)
class KeptForm:
    address: str
    typed: list[tuple[str, str]]
    lost_files: bool


def keep(request: HttpRequest, person: Staff) -> str:
    """As a signed text; empty where there is nothing to keep, or too much."""
    names = [name for name in request.POST if name != "csrfmiddlewaretoken" and "password" not in name]
    typed = [(name, value) for name in names for value in request.POST.getlist(name)]
    if not typed or sum(len(name) + len(value) for name, value in typed) > LONGEST:
        return ""
    held = {"for": person.pk, "to": request.get_full_path(), "typed": typed, "files": bool(request.FILES)}
    return signing.dumps(held, salt=SALT, compress=True)


def read(kept: str, person: Staff) -> KeptForm | None:
    """None where it isn't ours, too old, or another's."""
    try:
        held: dict[str, Any] = signing.loads(kept, salt=SALT, max_age=GOOD_FOR_SECONDS)
    except signing.BadSignature:
        return None
    if held["for"] != person.pk:
        return None
    return KeptForm(held["to"], [(name, value) for name, value in held["typed"]], held["files"])
