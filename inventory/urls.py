from django.urls import URLPattern, path  # noqa: F401

app_name = "inventory"
urlpatterns: list[URLPattern] = []
