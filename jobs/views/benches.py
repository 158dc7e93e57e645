"""What stands on which bench."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from jobs.forms.benches import BenchForm, WaitForm
from jobs.queries.benches import free_benches, lanes
from shop.access import EVERYBODY, may, role_required
from shop.clock import today
from shop.models import Role


@role_required(*EVERYBODY)
def benches(request: HttpRequest) -> HttpResponse:
    listed = lanes(today())
    context = {
        "lanes": listed,
        "free": free_benches(listed),
        "total": sum(len(lane.tickets) for lane in listed),
        "may_move": may(request.user, Role.BENCH),
        "may_wait": may(request.user, Role.BENCH, Role.COUNTER),
        "waiting": WaitForm.base_fields["waits_for"].choices,  # type: ignore[attr-defined]
        "bench_label": BenchForm.base_fields["bench"].label,
    }
    return render(request, "jobs/benches.html", context)
