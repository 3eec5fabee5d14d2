"""Make the pictures of the sample anew, all or those that are named."""

import os
import sys

WIDE, TALL = 1600, 1120
# Made larger and drawn together, so that edges are smooth.
FINER = 1.5


def picture(name: str, wide: int = WIDE, finer: float = FINER):
    from PIL import Image

    from .pictures import PICTURES

    tall = wide * TALL // WIDE
    made = PICTURES[name]((int(wide * finer), int(tall * finer))).photograph()
    return made if finer == 1 else made.resize((wide, tall), Image.Resampling.LANCZOS)


def main(names: list[str]) -> None:
    from . import FOLDER
    from .pictures import PICTURES

    for name in names or PICTURES:
        picture(name).save(FOLDER / f"{name}.jpg", quality=74, optimize=True, progressive=True)
        print(name, flush=True)


if __name__ == "__main__":
    # The hull's plan stands beside the records and counts in their unit, so Django is told where it is.
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildlog.settings")
    import django

    django.setup()
    main(sys.argv[1:])
