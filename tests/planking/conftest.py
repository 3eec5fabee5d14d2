"""How laws are tried: often enough at every run, and long on demand (RECKONER_LAWS=long)."""

import os

from hypothesis import settings

# No deadline: a law that is slow because the machine is busy is no broken law.
settings.register_profile("short", max_examples=50, deadline=None)
settings.register_profile("long", max_examples=2000, deadline=None)
settings.load_profile(os.environ.get("RECKONER_LAWS", "short"))
