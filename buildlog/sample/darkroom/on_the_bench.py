"""Pictures of what lies on the bench, each a scene: the things, the camera, the lamp."""

from itertools import pairwise

import numpy as np

from . import bench, pencil, stuffs
from .light import Scene
from .meshes import box
from .rays import View


def _on_bench(size, *, target=(0, 0, 0), away=230, tilt=62, swing=0, angle=34, **more):
    """Return a scene that looks down on the bench, from the front."""
    a, b = np.radians(tilt), np.radians(swing)
    target = np.asarray(target, float)
    place = target + away * np.array([np.sin(b) * np.cos(a), -np.cos(b) * np.cos(a), np.sin(a)])
    scene = Scene(View(tuple(place), tuple(target), (0, 0, 1), *size, angle=angle), (-0.62, 0.42, 0.70), **more)
    bench.top(scene.meshes)
    return scene


def _slip(scene, at, size, lines, *, seed, turn=0.0, high=5.0, **more):
    """Lay a slip with lettered lines, each ``(text, from the left, from the near edge)`` in mm."""
    drawn = pencil.page(*size)
    for n, (text, x, y, *size_of) in enumerate(lines):
        pencil.letter(drawn, text, (x, y), *(size_of or [high]), seed=seed + n)
    bench.slip(scene, at, size, drawn, turn=turn, seed=seed, **more)


def slate(size):
    scene = _on_bench(size, target=(2, 3, 0), away=262, tilt=66)
    lines = [("SESSION 3", 8, 42, 11.5), ("15 FEB 2025", 8, 22, 9), ("PORT 18", 8, 7, 9)]
    _slip(scene, (-58, -30), (104, 62), lines, seed=201, turn=3, curl=1.2)
    for n, (y, turn) in enumerate(((46, -2), (56, -3.4), (-47, 1.6))):
        bench.plank(scene.meshes, (-125, y), 250, [4.4, 4.7, 4.76, 4.6, 3.0], turn=turn, seed=61 + n)
    _pencil_stick(scene, (58, -40), 74, long=54)
    return scene


def _pencil_stick(scene, at, turn, *, long=66):
    a = np.radians(turn)
    ahead = np.array([np.cos(a), np.sin(a), 0])
    start = np.array([*at, 3.6])
    steps = [(-0.02, 3.4), (0, 3.5), (long, 3.5), (long + 11, 0.9)]
    bench.tube(scene, [start + ahead * s for s, _r in steps[:3]], [r for _s, r in steps[:3]], stuffs.BLACK, around=7)
    bench.tube(scene, [start + ahead * s for s, _r in steps[2:]], [3.4, 0.9], stuffs.MAPLE, seed=9)
    bench.tube(scene, [start + ahead * (long + 11), start + ahead * (long + 14.5)], [0.9, 0.15], stuffs.BLACK)


def letter(size):
    scene = _on_bench(size, target=(14, 6, 0), away=285, tilt=64, swing=-6)
    lines = [("T. ASHGRAVE", 38, 36, 5.4), ("4 SLUICE LANE", 38, 26, 5.4), ("NETTLEBANK", 38, 16, 5.4)]
    _slip(scene, (-38, -28), (114, 66), lines, seed=220, turn=-7, curl=1.0)
    scene.inks[220].colour, scene.inks[220].is_pencil = (0.03, 0.04, 0.13), False
    _stamp(scene)
    bench.plank(scene.meshes, (-122, 50), 250, [4.3, 4.7, 4.76, 4.5, 2.9], turn=-3, seed=66)
    bench.plank(scene.meshes, (-122, -52), 250, [4.3, 4.7, 4.76, 4.5, 2.9], turn=2, seed=68)
    return scene


def _stamp(scene):
    a = np.radians(-7)
    x, y = 90, 42
    at = (-38 + x * np.cos(a) - y * np.sin(a), -28 + x * np.sin(a) + y * np.cos(a))
    drawn = pencil.page(18, 21)
    for inset, weight in ((1.6, 0.5), (3.0, 0.25)):
        ends = [(inset, inset), (18 - inset, inset), (18 - inset, 21 - inset), (inset, 21 - inset), (inset, inset)]
        for start, end in pairwise(ends):
            pencil.line(drawn, start, end, weight=weight)
    pencil.letter(drawn, "1", (7, 7), 8, weight=0.9)
    red = (0.30, 0.05, 0.05)
    bench.slip(scene, at, (18, 21), drawn, turn=-7, seed=221, height=0.9, curl=0, colour=red, pencil=False)


def heat_iron(size):
    """A plank drawn over the barrel of a bending iron; its ends have taken the curve."""
    scene = _on_bench(size, target=(6, 6, 22), away=265, tilt=30, swing=-20, angle=34, depth_of_field=80)
    high, radius = 42.0, 11.5
    box(scene.meshes, (-30, 34, 0), (60, 0, 0), (0, 46, 0), (0, 0, 12), stuffs.ASH, seed=71, steps=40)
    box(scene.meshes, (-9, 46, 12), (18, 0, 0), (0, 14, 0), (0, 0, 24), stuffs.BLACK, seed=72)
    _turned(scene, high, [(74.1, 0.1), (74, 7), (72, 9), (46, 9), (44, 14), (38, 14), (37.9, 9)], stuffs.BLACK)
    _turned(scene, high, [(38, radius - 1), (-24, radius - 1), (-26.5, radius - 3), (-27, 0.05)], stuffs.STEEL)
    _bent_plank(scene, high, radius - 1)
    bench.plank(scene.meshes, (-126, -58), 236, [4.2, 4.5, 4.8, 4.7, 3.2], turn=5, seed=63)
    bench.plank(scene.meshes, (-126, -70), 236, [4.2, 4.5, 4.8, 4.7, 3.2], turn=3, seed=65)
    return scene


def _turned(scene, high, profile, stuff):
    """Turn a round body about an axis that lies along y, one length of it after another."""
    for (y, radius), (to, last) in pairwise(profile):
        bench.tube(scene, [(0, y, high), (0, to, high)], [radius, last], stuff, seed=73, around=70)


def _bent_plank(scene, high, radius):
    """Bend a plank over the barrel: round on it, then straighter, by its curvature along it."""
    far = np.linspace(-112, 112, 281)
    curved = np.exp(-((np.abs(far) / (radius * 0.95)) ** 4)) / (radius + 1) * 0.62 + 0.0012
    angle = np.concatenate([[0], np.cumsum((curved[1:] + curved[:-1]) / 2 * np.diff(far))])
    angle -= np.interp(0, far, angle)
    x = np.concatenate([[0], np.cumsum(np.cos(angle[1:]) * np.diff(far))])
    z = -np.concatenate([[0], np.cumsum(np.sin(angle[1:]) * np.diff(far))])
    x, z = x - np.interp(0, far, x), z - np.interp(0, far, z) + high + radius + 0.1
    half = np.interp(far, [-112, 0, 112], [2.2, 2.38, 1.6]) * 1.6
    faces = [((-1, 1.5), (1, 1.5)), ((-1, 0), (-1, 1.5)), ((1, 1.5), (1, 0)), ((1, 0), (-1, 0))]
    for n, ((a, low), (b, top)) in enumerate(faces):
        rows = [np.stack([x + np.sin(angle) * lift, 4 + side * half, z + np.cos(angle) * lift], -1)
                for side, lift in ((a, low), (b, top))]  # fmt: skip
        uv = np.stack([np.stack([far + 120, side * half + n], -1) for side in (a, b)])
        scene.meshes.add(np.stack(rows), uv, stuffs.CHERRY if n in (0, 3) else stuffs.EDGE, seed=67)


def caliper_check(size):
    scene = _on_bench(size, target=(44, -2, 3), away=292, tilt=60, swing=-8)
    shown, scale = pencil.window("0.08"), pencil.scale(172, 16)
    bench.caliper(scene, (-26, 4), shown, scale, opening=0.08, turn=3, tape=(0.05, 0.16, 0.42))
    _slip(scene, (46, -52), (66, 24), [("SHUT: 0.08", 6, 8)], seed=230, turn=-4, high=7.2)
    bench.plank(scene.meshes, (-70, 54), 250, [4.3, 4.7, 4.76, 4.5, 3.1], turn=-1.5, seed=64)
    return scene


def spoiled(size):
    scene = _on_bench(size, target=(-2, -1, 0), away=112, tilt=66, swing=3, angle=36)
    bench.plank(scene.meshes, (-134, 5.4), 165.1, [4.1, 4.35, 4.5, 4.5, 4.5, 4.43], turn=-0.4, seed=81)
    bench.plank(scene.meshes, (-138, -4.2), 165.1, [3.4, 3.65, 3.75, 3.75, 3.75, 3.6], turn=0.4, seed=87)
    _slip(scene, (-20, 10.5), (31, 12.5), [("4.50", 5, 3.2)], seed=240, turn=-3, high=6.2, curl=0.5)
    _slip(scene, (-26, -22), (46, 14), [("3.75", 4, 3.8, 6.2), ("REV 1", 25.5, 3.8, 4.2)], seed=243, turn=2, curl=0.5)
    return scene
