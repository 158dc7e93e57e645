"""Addresses of sets that came back: the claim of a job, its findings and decisions, the list of all."""

from django.urls import URLPattern, path

from jobs.views import claim_lists, claims

urlpatterns: list[URLPattern] = [
    path("claims/", claim_lists.claim_list, name="claims"),
    path("<int:pk>/claim/", claims.claim, name="claim"),
    path("<int:pk>/claim/open/", claims.claim_open, name="claim_open"),
    path("<int:pk>/claim/drop/", claims.claim_drop, name="claim_drop"),
    path("<int:pk>/claim/findings/", claims.claim_finding_add, name="claim_finding_add"),
    path("<int:pk>/claim/decide/", claims.claim_decide, name="claim_decide"),
    path("<int:pk>/claim/paper/", claim_lists.claim_pdf, name="claim_pdf"),
    path("claim-findings/<int:pk>/correct/", claims.claim_finding_correct, name="claim_finding_correct"),
    path("claim-findings/<int:pk>/take-back/", claims.claim_finding_withdraw, name="claim_finding_withdraw"),
]
