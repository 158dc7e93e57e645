"""Labels of a whole cabinet, or of every drawer there is."""

from dataclasses import replace

from inventory.documents.labels import SHEETS
from inventory.queries import drawn
from inventory.queries.drawers import cabinets
from shop.acts import Refused
from shop.long_work import Made, Progress
from shop.models import LongWork, Profile


def draw_labels(work: LongWork, progress: Progress) -> Made:
    """`cabinet` blank means all; `sheet` is a code of SHEETS; `used_up` labels of the first sheet are gone; `root` as in tags."""
    asked, profile = work.asked, Profile.current() or Profile(name="Workshop")
    wanted = [one for one in cabinets() if asked["cabinet"] in ("", one.name)]
    drawers = [drawer for one in wanted for drawer in one.drawers]
    if not drawers or asked["sheet"] not in SHEETS:
        raise Refused("There is no drawer to draw a label of. Make drawers first.")
    sheet = SHEETS[asked["sheet"]][1]
    sheet = replace(sheet, first=asked["used_up"] % (sheet.columns * sheet.rows))
    made = drawn.drawer_labels(drawers, sheet, profile, asked["root"], lambda seen: progress.step(seen, len(drawers)))
    progress.file.write(made.content)
    progress.step(len(drawers), len(drawers))
    where = f"cabinet {asked['cabinet']}" if asked["cabinet"] else "all cabinets"
    return Made(f"{len(drawers)} labels of {where}.", made.name)
