"""Addresses of the bench: jobs, their change log, labour, proving, benches."""

from django.urls import path

from jobs.views import (
    acts,
    benches,
    hand_prices,
    jobs,
    labour,
    lists,
    making_up,
    position,
    practices,
    proving,
    safety_papers,
    sheet,
)

urlpatterns = [
    path("", jobs.job_list, name="list"),
    path("practices/", practices.practices, name="practices"),
    path("practices/<int:pk>/", practices.practice_change, name="practice"),
    path("prices/", hand_prices.hand_prices, name="hand_prices"),
    path("benches/", benches.benches, name="benches"),
    path("<int:pk>/", jobs.job, name="job"),
    path("<int:pk>/act/", acts.act, name="act"),
    path("<int:pk>/undo/", acts.undo, name="undo"),
    path("<int:pk>/bench/", benches.put_on_bench, name="put_on_bench"),
    path("<int:pk>/wait/", benches.wait_for, name="wait_for"),
    path("<int:pk>/note/", acts.job_note, name="job_note"),
    path("<int:pk>/note/take-back/", acts.set_entry_withdraw, name="set_entry_withdraw"),
    path("<int:pk>/log/", sheet.change_log, name="change_log"),
    path("<int:pk>/log/new/", sheet.position_add, name="position_add"),
    path("positions/<int:pk>/", position.position, name="position"),
    path("positions/<int:pk>/make-up/", making_up.make_up, name="make_up"),
    path("positions/<int:pk>/make-up/fit/", making_up.fit_pair, name="fit_pair"),
    path("positions/<int:pk>/row/", sheet.entry_row, name="entry_row"),
    *(
        path(f"positions/<int:pk>/{name.replace('_', '-')}/", position.entry, {"name": name}, name=f"entry_{name}")
        for name in position.WRITINGS
    ),
    path("sets/", lists.set_list, name="sets"),
    path("labour/", lists.labour_list, name="labour_list"),
    path("<int:pk>/labour/", labour.labour, name="labour"),
    path("<int:pk>/labour/time/", labour.labour_add, {"name": "time"}, name="labour_time"),
    path("<int:pk>/labour/task/", labour.labour_add, {"name": "task"}, name="labour_task"),
    path("<int:pk>/clock/start/", labour.clock_start, name="clock_start"),
    path("<int:pk>/clock/stop/", labour.clock_stop, name="clock_stop"),
    path("<int:pk>/clock/drop/", labour.clock_drop, name="clock_drop"),
    path("labour/<int:pk>/correct/", labour.labour_correct, name="labour_correct"),
    path("labour/<int:pk>/take-back/", labour.labour_withdraw, name="labour_withdraw"),
    path("<int:pk>/second-look/", proving.second_look, name="second_look"),
    path("<int:pk>/second-look/sign/", proving.second_look_sign, name="second_look_sign"),
    path("<int:pk>/safety/", proving.safety, name="safety"),
    path("<int:pk>/safety/record/", proving.safety_record, name="safety_record"),
    path("safety/<int:pk>/sheet.pdf", safety_papers.safety_sheet, name="safety_sheet"),
    path("<int:pk>/safety/sheet.pdf", safety_papers.job_safety_sheet, name="job_safety_sheet"),
    path("<int:pk>/safety/sheet/", safety_papers.safety_page, name="safety_page"),
    path("<int:pk>/soak/", proving.soak, name="soak"),
    path("<int:pk>/soak/start/", proving.soak_start, name="soak_start"),
    path("<int:pk>/soak/end/", proving.soak_end, name="soak_end"),
]
