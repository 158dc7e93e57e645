from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in, user_login_failed
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate, pre_migrate


class ShopConfig(AppConfig):
    name = "shop"

    def ready(self) -> None:
        from shop.append_only import guard_wholly, keep_append_only
        from shop.audit import triggers
        from shop.audit.acting import connect
        from shop.sign_in import arriving, throttle

        user_logged_in.connect(arriving.begin_place, dispatch_uid="begin_place")
        user_login_failed.connect(throttle.note_failed, dispatch_uid="note_failed")
        # The library listens from the moment this is read: a miss is noted before it is counted.
        from axes.signals import user_locked_out

        user_locked_out.connect(throttle.note_shut_out, dispatch_uid="note_shut_out")
        connection_created.connect(connect, dispatch_uid="audit_connect")
        pre_migrate.connect(triggers.stand_aside, sender=self, dispatch_uid="audit_stands_aside")
        post_migrate.connect(triggers.keep_auditing, sender=self, dispatch_uid="keep_auditing")
        pre_migrate.connect(guard_wholly, sender=self, dispatch_uid="guard_wholly")
        post_migrate.connect(keep_append_only, sender=self, dispatch_uid="keep_append_only")
