"""Addresses of estimates, consents and of what a job leaves behind."""

from django.urls import URLPattern, path

from jobs.views import consents, estimates, warranty

urlpatterns: list[URLPattern] = [
    path("<int:pk>/estimate/", estimates.estimate, name="estimate"),
    path("<int:pk>/estimate/draft/", estimates.estimate_draft, name="estimate_draft"),
    path("estimates/<int:pk>/line/", estimates.estimate_line_add, name="estimate_line_add"),
    path("estimates/lines/<int:pk>/", estimates.estimate_line_change, name="estimate_line_change"),
    path("estimates/lines/<int:pk>/remove/", estimates.estimate_line_remove, name="estimate_line_remove"),
    path("estimates/<int:pk>/redraw/", estimates.estimate_redraw, name="estimate_redraw"),
    path("estimates/<int:pk>/note/", estimates.estimate_note, name="estimate_note"),
    path("estimates/<int:pk>/send/", estimates.estimate_send, name="estimate_send"),
    path("estimates/<int:pk>/recall/", estimates.estimate_recall, name="estimate_recall"),
    path("estimates/<int:pk>/link/", estimates.estimate_link, name="estimate_link"),
    path("estimates/<int:pk>/paper/", estimates.estimate_pdf, name="estimate_pdf"),
    path("estimates/<int:pk>/answer/", consents.consent, name="consent"),
    path("<int:pk>/warranty/", warranty.warranty, name="warranty"),
]
