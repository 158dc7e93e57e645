import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

application = get_wsgi_application()

# Only now may models be imported; who serves also does the long work.
from shop import long_work  # noqa: E402

long_work.open_up()
