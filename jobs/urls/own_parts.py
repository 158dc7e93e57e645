"""Addresses of what customers bring for their sets, and of sets that change hands."""

from django.urls import URLPattern, path

from jobs.views import own_parts, set_hands

urlpatterns: list[URLPattern] = [
    path("<int:pk>/own-parts/", own_parts.own_parts, name="own_parts"),
    path("<int:pk>/own-parts/new/", own_parts.own_part_new, name="own_part_new"),
    path("<int:pk>/own-parts/give-back/", own_parts.own_part_back, name="own_part_back"),
    path("<int:pk>/own-parts/still-here/", own_parts.own_part_kept, name="own_part_kept"),
    path("sets/<int:pk>/hands/", set_hands.set_hands, name="set_hands"),
    path("sets/<int:pk>/hands/to/", set_hands.set_hand_on, name="set_hand_on"),
    path("sets/<int:pk>/hands/back/", set_hands.set_hand_back, name="set_hand_back"),
]
