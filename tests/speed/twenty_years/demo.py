"""Loads the demo alone, as the start of several shops: `SHOP_FOLDER=DIR python -m tests.speed.twenty_years.demo`."""

import os
import sys


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    import django

    django.setup()
    from tests.speed.twenty_years.laying import lay_demo

    lay_demo(print)
    return 0


if __name__ == "__main__":
    sys.exit(main())
