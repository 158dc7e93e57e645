"""Which shop's folder a command works in: the demo has one, the own shop another, and SHOP_FOLDER names any."""

import os
from pathlib import Path

from shop.setup.console import say

KEPT_IN = "SHOP_FOLDER"


def choose(root: Path, command: str) -> None:
    """Set SHOP_FOLDER for this run unless it is given. Without a shop of one's own, commands work on the demo, and say so."""
    if os.environ.get(KEPT_IN):
        return
    own, demo = root / ".shop" / "own", root / ".shop" / "demo"
    falls_back = command not in ("demo", "start", "restore") and not _holds_a_shop(own) and _holds_a_shop(demo)
    if falls_back:
        say("There is no shop of your own yet, so this works on the demo.")
    os.environ[KEPT_IN] = str(demo if command == "demo" or falls_back else own)


def _holds_a_shop(folder: Path) -> bool:
    """A database server named by DATABASE_URL holds the own shop; its folder keeps photos and key only."""
    return bool(os.environ.get("DATABASE_URL")) or (folder / "shop.sqlite3").exists()
