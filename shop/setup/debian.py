"""System packages, where they can be had without asking: Debian and its kin, as root."""

import os
import shutil
import sys
from collections.abc import Sequence

from shop.setup.console import Finished, run_shown

VENV_PACKAGE = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"


def may_install() -> bool:
    return sys.platform.startswith("linux") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def install(packages: Sequence[str]) -> Finished:
    """Old lists may still do when the update fails, so the install alone decides."""
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    run_shown(["apt-get", "update"], "Reading the system's package lists", env=environment)
    command = ["apt-get", "install", "-y", "--no-install-recommends", *packages]
    return run_shown(command, f"Installing {', '.join(packages)}", env=environment)
