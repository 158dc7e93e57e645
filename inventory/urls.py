"""Addresses of the drawers."""

from django.urls import URLPattern, path

from inventory.views import counting, drawers, labels, lots, make_up, markings, movements, near, parts, receiving, suppliers

app_name = "inventory"
urlpatterns: list[URLPattern] = [
    path("", parts.part_list, name="parts"),
    path("cabinets/", drawers.drawer_list, name="drawers"),
    path("cabinets/new/", drawers.drawer_new, name="drawer_new"),
    path("<int:pk>/", drawers.drawer, name="drawer"),
    path("cabinets/front/", drawers.cabinet_face, name="cabinet_face"),
    path("near/", near.near, name="near"),
    path("counts/", counting.count_list, name="counts"),
    path("counts/<int:pk>/", counting.counting, name="counting"),
    path("counts/<int:pk>/enter/", counting.count_enter, name="count_enter"),
    path("counts/<int:pk>/found/", counting.count_found, name="count_found"),
    path("counts/<int:pk>/book/", counting.count_book, name="count_book"),
    path("counts/<int:pk>/again/", counting.count_again, name="count_again"),
    path("counts/<int:pk>/drop/", counting.count_drop, name="count_drop"),
    path("<int:pk>/count/", counting.count_begin, name="count_begin"),
    path("<int:pk>/change/", drawers.drawer_change, name="drawer_change"),
    path("labels/", labels.labels, name="labels"),
    path("labels/sheet/", labels.labels_pdf, name="labels_pdf"),
    path("parts/find/", parts.part_lookup, name="part_lookup"),
    path("make-up/", make_up.wanted, name="make_up"),
    path("parts/new/", parts.part_new, name="part_new"),
    path("parts/<int:pk>/", parts.part, name="part"),
    path("parts/<int:pk>/change/", parts.part_change, name="part_change"),
    path("holds/<int:pk>/let-go/", parts.hold_let_go, name="hold_let_go"),
    path("receive/", receiving.receive, name="receive"),
    path("lots/<int:pk>/", lots.lot, name="lot"),
    path("lots/<int:pk>/label/", labels.lot_label, name="lot_label"),
    path("lots/<int:pk>/block/", lots.block, name="block"),
    path("lots/<int:pk>/unblock/", lots.unblock, name="unblock"),
    path("lots/<int:lot_pk>/in/<int:drawer_pk>/count/", lots.count, name="count"),
    path("lots/<int:lot_pk>/in/<int:drawer_pk>/move/", lots.transfer, name="transfer"),
    path("lots/<int:lot_pk>/in/<int:drawer_pk>/scrap/", lots.scrap, name="scrap"),
    path("lots/<int:lot_pk>/in/<int:drawer_pk>/send-back/", lots.send_back, name="send_back"),
    path("suppliers/", suppliers.supplier_list, name="suppliers"),
    path("suppliers/new/", suppliers.supplier_new, name="supplier_new"),
    path("suppliers/<int:pk>/", suppliers.supplier_change, name="supplier_change"),
    path("colours/", markings.colours, name="colours"),
    path("movements/", movements.movement_list, name="movements"),
]
