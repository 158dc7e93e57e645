"""Addresses of the house itself: customers, and what the owner looks after."""

from django.urls import URLPattern, path

from shop.views import buying, customers, house, owner, pictures, place, set_classes, staff

app_name = "shop"
urlpatterns: list[URLPattern] = [
    path("customers/", customers.customer_list, name="customers"),
    path("customers/find/", customers.customer_lookup, name="customer_lookup"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/change/", customers.customer_change, name="customer_change"),
    path("owner/", owner.owner, name="owner"),
    path("owner/profile/", owner.profile, name="profile"),
    path("owner/place/", place.place, name="place"),
    path("owner/pictures/", pictures.pictures, name="pictures"),
    path("owner/pictures/paper/", pictures.pictures_pdf, name="pictures_pdf"),
    path("owner/staff/", staff.staff_list, name="staff"),
    path("owner/staff/new/", staff.staff_new, name="staff_new"),
    path("owner/staff/<int:pk>/", staff.staff_change, name="staff_change"),
    path("owner/staff/<int:pk>/password/", staff.staff_password, name="staff_password"),
    path("buy/", buying.buy_list, name="buy_list"),
    path("buy/basket/", buying.buy_basket, name="buy_basket"),
    path("password/", staff.password_change, name="password_change"),
    path("owner/benches/", house.bench_list, name="benches"),
    path("owner/benches/<int:pk>/", house.bench_change, name="bench_change"),
    path("owner/markup/", house.markup, name="markup"),
    path("owner/flat-tasks/", house.flat_tasks, name="flat_tasks"),
    path("owner/flat-tasks/<int:pk>/", house.flat_task_change, name="flat_task_change"),
    path("owner/set-classes/", set_classes.set_classes, name="set_classes"),
    path("owner/set-classes/<int:pk>/", set_classes.set_class_change, name="set_class_change"),
]
