"""The sample's pictures: the invented hull and an invented bench, made by code, with nobody in them.

    .venv/bin/python -m buildlog.sample.darkroom [NAME ...]

writes buildlog/sample/pictures/*.jpg anew; the same code makes the same pictures. ``vessel`` is the hull, planked
from the sample's own plan; ``bench`` what lies beside it; ``meshes`` and ``rays`` find what is seen; ``stuffs`` say
what it is made of; ``light`` lights it. The program itself only reads the finished pictures.

The hull stands in millimetres on the model: x forward, y to port, z from the keel to the wale. Each side is seen
from outside with the bow at the right, so port is seen bottom up, as it lies to be planked, and starboard upright.
"""

from pathlib import Path

FOLDER = Path(__file__).parents[1] / "pictures"
