"""Addresses of estimates, consents and of what a job leaves behind."""

from django.urls import URLPattern, path

from jobs.views import alternatives, consents, declining, estimate_papers, estimates, findings, outlook, warranty

urlpatterns: list[URLPattern] = [
    path("<int:pk>/estimate/", estimates.estimate, name="estimate"),
    path("<int:pk>/outlook/", outlook.outlook, name="outlook"),
    path("<int:pk>/outlook/hours/", outlook.outlook_hours, name="outlook_hours"),
    path("<int:pk>/outlook/hours/off/", outlook.outlook_hours_off, name="outlook_hours_off"),
    path("<int:pk>/outlook/first/", outlook.measure_first, name="measure_first"),
    path("<int:pk>/estimate/draft/", estimates.estimate_draft, name="estimate_draft"),
    path("estimates/<int:pk>/line/", estimates.estimate_line_add, name="estimate_line_add"),
    path("estimates/lines/<int:pk>/", estimates.estimate_line_change, name="estimate_line_change"),
    path("estimates/lines/<int:pk>/remove/", estimates.estimate_line_remove, name="estimate_line_remove"),
    path("estimates/<int:pk>/redraw/", estimates.estimate_redraw, name="estimate_redraw"),
    path("estimates/<int:pk>/note/", estimates.estimate_note, name="estimate_note"),
    path("estimates/<int:pk>/send/", estimates.estimate_send, name="estimate_send"),
    path("estimates/<int:pk>/recall/", estimates.estimate_recall, name="estimate_recall"),
    path("estimates/<int:pk>/link/", estimates.estimate_link, name="estimate_link"),
    path("estimates/<int:pk>/link/revoke/", estimates.estimate_link_revoke, name="estimate_link_revoke"),
    path("estimates/<int:pk>/link/restore/", estimates.estimate_link_restore, name="estimate_link_restore"),
    path("estimates/<int:pk>/paper/", estimate_papers.estimate_pdf, name="estimate_pdf"),
    path("estimates/<int:pk>/page/", estimate_papers.estimate_page, name="estimate_page"),
    path("estimates/<int:pk>/alternatives/offer/", alternatives.alternatives_offer, name="alternatives_offer"),
    path("estimates/<int:pk>/alternatives/add/", alternatives.alternative_add, name="alternative_add"),
    path("estimates/<int:pk>/alternatives/place/", alternatives.alternatives_place, name="alternatives_place"),
    path("estimates/alternatives/<int:pk>/", alternatives.alternative_change, name="alternative_change"),
    path("estimates/alternatives/<int:pk>/remove/", alternatives.alternative_remove, name="alternative_remove"),
    path("estimates/<int:pk>/because/", findings.estimate_because, name="estimate_because"),
    path("estimates/<int:pk>/findings/add/", findings.finding_add, name="finding_add"),
    path("estimates/<int:pk>/findings/remove/", findings.finding_remove, name="finding_remove"),
    path("entries/<int:pk>/revise/", findings.finding_draft, name="finding_draft"),
    path("<int:pk>/declined/", declining.declined, name="declined"),
    path("<int:pk>/declined/fees/", declining.book_fees, name="book_fees"),
    path("<int:pk>/declined/let-go/", declining.let_go, name="let_go"),
    path("<int:pk>/declined/back/", declining.is_back, name="is_back"),
    path("<int:pk>/declined/list/", declining.put_back_pdf, name="put_back_pdf"),
    path("<int:pk>/declined/paper/", declining.closing_pdf, name="closing_pdf"),
    path("<int:pk>/labour/minimum/", declining.book_minimum, name="book_minimum"),
    path("estimates/<int:pk>/answer/", consents.consent, name="consent"),
    path("<int:pk>/warranty/", warranty.warranty, name="warranty"),
]
