"""Addresses of service sheets: a model's pages, the places on them, a job seen on them."""

from django.urls import URLPattern, path

from jobs.views import job_service_sheet, service_sheets, sheet_choose, sheet_pictures, sheet_places

urlpatterns: list[URLPattern] = [
    path("models/<int:pk>/service-sheet/", service_sheets.service_sheets, name="service_sheets"),
    path("models/<int:pk>/service-sheet/choose/", sheet_choose.service_sheet_choose, name="service_sheet_choose"),
    path("models/<int:pk>/service-sheet/choose/small/", sheet_choose.service_sheet_small, name="service_sheet_small"),
    path("service-sheets/<int:pk>/", sheet_places.service_sheet, name="service_sheet"),
    path("service-sheets/<int:pk>/picture/", sheet_pictures.service_sheet_picture, name="service_sheet_picture"),
    path("service-sheets/<int:pk>/change/", service_sheets.service_sheet_change, name="service_sheet_change"),
    path("service-sheets/<int:pk>/replace/", service_sheets.service_sheet_replace, name="service_sheet_replace"),
    path("service-sheets/<int:pk>/put-back/", sheet_pictures.service_sheet_put_back, name="service_sheet_put_back"),
    path("service-sheets/<int:pk>/set-aside/", service_sheets.service_sheet_set_aside, name="service_sheet_set_aside"),
    path("service-sheets/<int:pk>/take-back/", service_sheets.service_sheet_take_back, name="service_sheet_take_back"),
    path("service-sheets/<int:pk>/place/", sheet_places.service_sheet_place, name="service_sheet_place"),
    path("service-sheets/<int:pk>/remove/", sheet_places.service_sheet_remove, name="service_sheet_remove"),
    path("sheet-places/<int:pk>/cut/", sheet_pictures.sheet_place_cut, name="sheet_place_cut"),
    path("<int:pk>/service-sheet/", job_service_sheet.job_service_sheet, name="job_service_sheet"),
    path("<int:pk>/service-sheet/paper/", job_service_sheet.job_service_sheet_pdf, name="job_service_sheet_pdf"),
]
