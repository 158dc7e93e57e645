"""Addresses of what is worked out from readings under power: the output stage, reforming, sums."""

from django.urls import path

from jobs.views import output_stage, reforming, sums

urlpatterns = [
    path("<int:pk>/output-stage/", output_stage.output_stage, name="output_stage"),
    path("sums/", sums.sums, name="sums"),
    path("reforming/", reforming.reformings, name="reformings"),
    path("reforming/<int:pk>/", reforming.reforming, name="reforming"),
    path("reforming/<int:pk>/reading/", reforming.reforming_reading, name="reforming_reading"),
    path("reforming/<int:pk>/take-back/", reforming.reforming_withdraw, name="reforming_withdraw"),
    path("reforming/<int:pk>/end/", reforming.reforming_end, name="reforming_end"),
    path("positions/<int:pk>/reform/", reforming.reform_position, name="reform_position"),
    path("lots/<int:pk>/reform/", reforming.reform_lot, name="reform_lot"),
]
