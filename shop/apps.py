from django.apps import AppConfig
from django.db.models.signals import post_migrate


class ShopConfig(AppConfig):
    name = "shop"

    def ready(self) -> None:
        from shop.append_only import keep_append_only

        post_migrate.connect(keep_append_only, dispatch_uid="keep_append_only")
