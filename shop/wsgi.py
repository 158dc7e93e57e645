import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

application = get_wsgi_application()

# Only now may models be imported; who serves also does the long work, keeps the log and sees to the daily copy and round.
from django.conf import settings  # noqa: E402

from shop import long_work  # noqa: E402
from shop.backup import keeper  # noqa: E402
from shop.web import logs  # noqa: E402
from shop.works import daily_round  # noqa: E402

logs.keep_in(settings.SHOP_FOLDER, int(os.environ.get("SHOP_PROCESS", "1")))
long_work.open_up()
keeper.open_up()
daily_round.open_up()
