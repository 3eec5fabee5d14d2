"""A photograph of 48 million points made ready in three renditions, beside libvips doing the same in the same run.

    python -m tests.benchmarks.photo_speed [--times 20]

Each run of either is a process of its own, as the worker starts one for each photograph. pyvips and pyvips-binary are
wanted for this alone. Writes its table into tests/benchmarks/RESULTS.md.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RESULTS = Path(__file__).with_name("RESULTS.md")
HEAD, FOOT = "<!-- photographs: begin -->", "<!-- photographs: end -->"
WIDE, TALL = 8000, 6000
WARM = 3
GOAL_RATIO, GOAL_MB = 1.5, 150

# The same three sizes and the same quality, each from the one before, everything but the picture taken off; as far
# back behind other work as our child stands.
VIPS = """
import os, sys
os.nice(10)
import pyvips
source, folder = sys.argv[1:3]
for size, longest in (("large", 1920), ("middle", 960), ("small", 320)):
    picture = pyvips.Image.thumbnail(source, longest, height=longest)
    source = f"{folder}/{size}.jpg"
    picture.jpegsave(source, Q=84, keep="none", interlace=True)
"""


def picture(path: Path) -> None:
    """Write a synthetic picture with planks, grain and noise, so that a decoder has enough to do."""
    import numpy as np
    from PIL import Image

    wide, tall = WIDE, TALL
    chance = np.random.default_rng(48)
    across = np.arange(wide)[None, :] / 160
    down = np.arange(tall)[:, None] / 90
    grain = chance.normal(0, 9, (tall, wide)).astype("f4")
    planks = (140 + 50 * np.sin(down + 0.4 * np.sin(across / 5)) + 12 * np.sin(across * 3)).astype("f4") + grain
    points = np.stack([planks, planks * 0.78, planks * 0.52], axis=-1).clip(0, 255).astype("uint8")
    Image.fromarray(points).save(path, "JPEG", quality=90)


def timed(command: list[str]) -> tuple[float, float, float]:
    """Run a process; return the seconds it took, those of a processor, and its peak memory in MB."""
    began = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    told = process.stderr.read()
    _pid, status, used = os.wait4(process.pid, 0)
    took = time.perf_counter() - began
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(told.decode())
    return took, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def measure(times: int) -> dict:
    from buildlog.photos.derive import _command

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        source = folder / "photo.jpg"
        # In a process of its own: what a child may take over of our memory at its start would be counted as its own.
        make = "import sys, pathlib, tests.benchmarks.photo_speed as it; it.picture(pathlib.Path(sys.argv[1]))"
        subprocess.run([sys.executable, "-c", make, str(source)], check=True)
        commands = {
            "ours": _command(source, folder, {}),
            "a part of it": _command(source, folder, {"crop": [0.2, 0.2, 0.6, 0.6], "turn": 90}),
            "vips": [sys.executable, "-c", VIPS, str(source), name],
        }
        runs = {what: [] for what in commands}
        # In turn, so that other work on the machine weighs on all alike.
        for _round in range(WARM + times):
            for what, command in commands.items():
                runs[what].append(timed(command))
        megabytes = source.stat().st_size / 1e6
    found = {what: statistics.median(took for took, _cpu, _mb in run[WARM:]) for what, run in runs.items()}
    worked = {what: statistics.median(cpu for _took, cpu, _mb in run[WARM:]) for what, run in runs.items()}
    peak = {what: max(mb for _took, _cpu, mb in run) for what, run in runs.items()}
    return {"seconds": found, "worked": worked, "peak": peak, "megabytes": megabytes}


def table(found: dict, times: int) -> str:
    seconds, worked, peak = found["seconds"], found["worked"], found["peak"]
    ratio = seconds["ours"] / seconds["vips"]
    load = os.getloadavg()[0]
    return f"""{HEAD}
## Photographs

`python -m tests.benchmarks.photo_speed`: a synthetic JPEG of {WIDE} × {TALL} ({found["megabytes"]:.1f} MB)
made ready in 1920, 960 and 320 points; each run a process of its own, libvips 8 by pyvips in turn with ours, both
standing back behind other work (niceness 10);
median of {times} after {WARM}, clock on the wall.

| what | measured | goal |
|---|---|---|
| ours, s | {seconds["ours"]:.2f} | |
| libvips, s | {seconds["vips"]:.2f} | |
| ours over libvips | {ratio:.2f} | within {GOAL_RATIO} |
| processor time, ours and libvips, s | {worked["ours"]:.2f} and {worked["vips"]:.2f} | |
| peak memory of the whole process of ours, MB | {peak["ours"]:.0f} | under {GOAL_MB} |
| cut to a sixth of it and turned, s | {seconds["a part of it"]:.2f} | |
| the same, peak memory, MB | {peak["a part of it"]:.0f} | under {GOAL_MB} |

Load {load:.1f} from other work on two cores meanwhile.
{FOOT}"""


def write(text: str) -> None:
    before = RESULTS.read_text("utf-8")
    if HEAD in before:
        start, end = before.index(HEAD), before.index(FOOT) + len(FOOT)
        after = before[:start] + text + before[end:]
    else:
        after = before.rstrip() + "\n\n" + text + "\n"
    RESULTS.write_text(after, "utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=20)
    times = parser.parse_args().times
    text = table(measure(times), times)
    write(text)
    print(text)


if __name__ == "__main__":
    main()
