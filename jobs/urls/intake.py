"""Addresses of the counter: taking in, correcting, photos, papers, models and their called-for lists."""

from django.urls import URLPattern, path

from jobs.views import called_for_import, intake, models, papers_in, photo_page, photos

urlpatterns: list[URLPattern] = [
    path("intake/", intake.intake, name="intake"),
    path("intake/models/", intake.set_lookup, name="set_lookup"),
    path("intake/cautions/", intake.intake_cautions, name="intake_cautions"),
    path("<int:pk>/change/", intake.job_change, name="job_change"),
    path("sets/<int:pk>/change/", intake.set_change, name="set_change"),
    path("<int:pk>/photos/", photos.photos, name="photos"),
    path("<int:pk>/photos/consent/", photos.photo_consent, name="photo_consent"),
    path("<int:pk>/photos/send/", photos.photo_send, name="photo_send"),
    path("<int:pk>/photos/lock/", photo_page.found_lock, name="found_lock"),
    path("photos/<int:pk>/", photos.photo, name="photo"),
    path("photos/<int:pk>/middle/", photos.photo, {"size": "middle"}, name="photo_middle"),
    path("photos/<int:pk>/small/", photos.photo, {"size": "small"}, name="photo_small"),
    path("photos/<int:pk>/page/", photo_page.photo_page, name="photo_page"),
    path("photos/<int:pk>/change/", photo_page.photo_change, name="photo_change"),
    path("photos/<int:pk>/set-aside/", photo_page.photo_set_aside, name="photo_set_aside"),
    path("photos/<int:pk>/bring-back/", photo_page.photo_bring_back, name="photo_bring_back"),
    path("<int:pk>/claim-check/", papers_in.claim_check, name="claim_check"),
    path("<int:pk>/tag/", papers_in.tag, name="tag"),
    path("models/", models.models, name="models"),
    path("models/new/", models.model_new, name="model_new"),
    path("models/<int:pk>/", models.model, name="model"),
    path("models/<int:pk>/change/", models.model_change, name="model_change"),
    path("models/<int:pk>/table/", called_for_import.called_for_import, name="called_for_import"),
    path("<int:pk>/take-over/", models.positions_take_over, name="positions_take_over"),
]
