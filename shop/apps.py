from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "shop"

    def ready(self) -> None:
        from shop.append_only import guard_wholly, keep_append_only

        pre_migrate.connect(guard_wholly, sender=self, dispatch_uid="guard_wholly")
        post_migrate.connect(keep_append_only, sender=self, dispatch_uid="keep_append_only")
