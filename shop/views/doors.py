"""Who is kept out by the throttle now, and letting them in again."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from shop.access import role_required, staff_of
from shop.clock import now
from shop.models import Role, Staff
from shop.sign_in import throttle
from shop.sign_in.events import address_of
from shop.web.press import press


@role_required(Role.OWNER)
def shut_out(request: HttpRequest) -> HttpResponse:
    return render(request, "shop/doors.html", {"shut_out": throttle.shut_out(at=now())})


@role_required(Role.OWNER)
@require_POST
def let_in(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Staff, pk=pk)

    def work() -> None:
        throttle.let_in(person, by=staff_of(request), at=now(), address=address_of(request))

    return press(request, "let in again", work, reverse("shop:shut_out"), f"{person} can sign in again.")
