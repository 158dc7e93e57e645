"""Addresses of the house itself: customers, and what the owner looks after."""

from django.urls import URLPattern, path

from shop.views import customers

app_name = "shop"
urlpatterns: list[URLPattern] = [
    path("customers/", customers.customer_list, name="customers"),
    path("customers/find/", customers.customer_lookup, name="customer_lookup"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/change/", customers.customer_change, name="customer_change"),
]
