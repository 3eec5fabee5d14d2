"""What lies on the bench beside the hull: boards, slips of paper, strips, a caliper, an iron, clips."""

from dataclasses import dataclass

import numpy as np
from PIL import Image

from . import stuffs
from .meshes import Meshes, box, sheet
from .noise import rough


@dataclass
class Ink:
    """A drawing laid on a paper or a dial: how dark it is at each place, and in what colour."""

    drawn: Image.Image
    size_mm: tuple
    colour: tuple = (0.03, 0.03, 0.036)
    is_pencil: bool = True

    def on(self, colour, u, v):
        dark = np.asarray(self.drawn, dtype=np.float32) / 255
        x = u / self.size_mm[0] * dark.shape[1] - 0.5
        y = (1 - v / self.size_mm[1]) * dark.shape[0] - 0.5
        share = _between(dark, x, y)
        if self.is_pencil:
            # Graphite catches on the tooth of the paper.
            share = share * np.clip(0.95 + 0.35 * rough(u * 6, v * 6, 44, 2), 0.45, 1)
        return colour + (np.array(self.colour) - colour) * share[:, None]


def _between(values, x, y):
    height, width = values.shape
    x, y = np.clip(x, 0, width - 1.001), np.clip(y, 0, height - 1.001)
    left, top = x.astype(int), y.astype(int)
    a, b = x - left, y - top
    over = values[top, left] * (1 - a) + values[top, left + 1] * a
    under = values[top + 1, left] * (1 - a) + values[top + 1, left + 1] * a
    return over * (1 - b) + under * b


def top(meshes: Meshes, middle=(0, 0, 0), along=(1, 0, 0), across=(0, 1, 0), *, reach=900.0, stuff=stuffs.BENCH):
    """Lay the bench top, or whatever else is flat and large."""
    steps = np.linspace(-reach, reach, 90)
    u, v = np.meshgrid(steps, steps)
    points = np.asarray(middle, float) + u[..., None] * np.asarray(along) + v[..., None] * np.asarray(across)
    meshes.add(points, np.stack([u, v], -1) + reach, stuff, seed=77)


def plank(meshes: Meshes, at, length, widths, *, turn=0.0, seed=0, thick=1.5, stuff=stuffs.CHERRY, rise=None):
    """Lay a plank; ``widths`` from its after to its fore end in mm, ``rise`` how high it is bent along it."""
    t = np.linspace(0, 1, 90)
    half = np.interp(t, np.linspace(0, 1, len(widths)), widths) / 2
    x = t * length
    low = np.zeros_like(t) if rise is None else np.interp(t, np.linspace(0, 1, len(rise)), rise)
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def strip(side_a, side_b, lift_a, lift_b, grain_a, grain_b):
        rows = np.stack([np.stack([x, side * half, low + lift + 0.05], -1)
                         for side, lift in ((side_a, lift_a), (side_b, lift_b))])  # fmt: skip
        turned = rows @ np.array([[cos, sin, 0], [-sin, cos, 0], [0, 0, 1]]) + np.array([*at, 0.0])
        uv = np.stack([np.stack([x, half * grain], -1) for grain in (grain_a, grain_b)])
        meshes.add(turned, uv, stuff, seed=seed)

    strip(-1, 1, thick, thick, -1, 1)
    strip(-1, -1, 0, thick, -1.3, -1)
    strip(1, 1, thick, 0, 1, 1.3)
    ends = ((0, -1), (-1, 1))
    for end, lean in ends:
        level = low[end] + 0.05
        rows = np.array([[[x[end], side * half[end], z] for side in (-1, 1)] for z in (level, level + thick)])
        turned = rows @ np.array([[cos, sin, 0], [-sin, cos, 0], [0, 0, 1]]) + np.array([*at, 0.0])
        meshes.add(turned, np.stack(np.meshgrid([0, 4], [0, 1.5]), -1), stuffs.EDGE, seed=seed + lean)


def slip(scene, at, size, drawn, *, turn=0.0, seed, height=0.15, curl=1.6, colour=(0.03, 0.03, 0.036), pencil=True):
    """Lay a slip of paper with something drawn on it, its corners a little off the bench."""
    across, along = np.linspace(0, 1, 24), np.linspace(0, 1, 30)
    u, v = np.meshgrid(along, across)
    x, y = u * size[0], v * size[1]
    lift = curl * ((2 * u - 1) ** 4 * 0.6 + (2 * v - 1) ** 4 * 0.3) * (0.6 + 0.5 * u) + height
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    points = np.stack([at[0] + x * cos - y * sin, at[1] + x * sin + y * cos, lift], -1)
    scene.meshes.add(points, np.stack([x, y], -1), stuffs.PAPER, seed=seed)
    if drawn is not None:
        scene.inks[seed] = Ink(drawn, size, colour, pencil)


def draped(scene, vessel, frame, shares, *, width=4.6, out=1.55, ink=None, seed=900, lift=0.0, stuff=stuffs.PAPER):
    """Lay a strip along a frame from one share of the girth to another, as a builder holds it with two fingers."""
    v = np.linspace(0, 1, 120)
    u, along = np.meshgrid([-0.5, 0.5], v)
    share = shares[0] + along * (shares[1] - shares[0])
    off = out + lift * (np.clip(along - 0.80, 0, 1) / 0.2) ** 2 * 2.5 + lift * (np.clip(0.12 - along, 0, 1) / 0.12) ** 2
    points = vessel.place(frame - u * width / 13.76, share, off)
    steps = np.linalg.norm(np.diff(points.mean(1), axis=0), axis=1)
    far = np.concatenate([[0], np.cumsum(steps)])
    uv = np.stack([(u + 0.5) * width, np.broadcast_to(far[:, None], u.shape)], -1)
    scene.meshes.add(points, uv, stuff, seed=seed)
    length = float(far[-1])
    if ink is not None:
        scene.inks[seed] = Ink(ink(length, share[:, 0], far), (width, length))
    return points.mean(1)


def bar(scene, vessel, frames, shares, *, out=0.0, width=1.6, thick=1.6, stuff=stuffs.MAPLE, seed=0):
    """Bend a batten along the hull: a square lath over the frames."""
    t = np.linspace(0, 1, 150)
    frame = frames[0] + t * (frames[1] - frames[0])
    share = np.interp(t, np.linspace(0, 1, len(shares)), shares)
    half = width / 2 / 85
    corners = [(half, out), (half, out + thick), (-half, out + thick), (-half, out)]
    for (a, low), (b, high) in zip(corners, [*corners[1:], corners[0]], strict=True):
        rows = np.stack([vessel.place(frame, share + a, low + 0 * t), vessel.place(frame, share + b, high + 0 * t)])
        uv = np.stack([np.stack([frame * 13.76, 0 * t + side], -1) for side in (0.0, width)])
        scene.meshes.add(rows, uv, stuff, seed=seed)


def pin(scene, place, normal, *, head=1.5, length=5.0, stuff=stuffs.STEEL):
    """Drive a pin with a round head."""
    normal = np.asarray(normal, float) / np.linalg.norm(normal)
    first = np.cross(normal, [0.31, 0.2, 0.93])
    first /= np.linalg.norm(first)
    second = np.cross(normal, first)
    turn = np.linspace(0, 2 * np.pi, 15)
    ring = np.cos(turn)[:, None] * first + np.sin(turn)[:, None] * second
    levels = [(0.25, 0), (0.25, length - 1.2), (head * 0.7, length - 1.1), (head, length - 0.5), (head * 0.75, length),
              (0.02, length + 0.25)]  # fmt: skip
    rows = np.stack([place + ring * radius + normal * at for radius, at in levels])
    uv = np.stack(np.meshgrid(turn, [at for _r, at in levels]), -1)
    scene.meshes.add(rows, uv, stuff, seed=5)


def tube(scene, path, radius, stuff, *, seed=0, around=26):
    """Draw a round bar along a path, with a radius at each of its points."""
    path, radius = np.asarray(path, float), np.asarray(radius, float)
    ahead = np.gradient(path, axis=0)
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1, keepdims=True), 1e-9)
    first = np.cross(ahead, [0.05, 0.1, 1.0])
    first /= np.maximum(np.linalg.norm(first, axis=1, keepdims=True), 1e-9)
    second = np.cross(ahead, first)
    turn = np.linspace(0, 2 * np.pi, around)[:, None, None]
    rows = path + radius[:, None] * (np.cos(turn) * first + np.sin(turn) * second)
    far = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    uv = np.stack([np.broadcast_to(far, rows.shape[:2]), np.broadcast_to(turn[..., 0] * radius, rows.shape[:2])], -1)
    scene.meshes.add(rows, uv, stuff, seed=seed)


def caliper(scene, at, shown, scale, *, opening=0.0, turn=0.0, tape=None):
    """Lay a plain digital caliper: beam, jaws, slide with a window; ``shown`` and ``scale`` are what is drawn on it."""
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def put(x, y, z, long, wide, high, stuff, seed=0):
        along, across = np.array([cos, sin, 0]) * long, np.array([-sin, cos, 0]) * wide
        corner = np.array([at[0] + x * cos - y * sin, at[1] + x * sin + y * cos, z + 0.05])
        box(scene.meshes, corner, along, across, np.array([0, 0, high]), stuff, seed=seed, steps=60)

    def jaw(points, low, high):
        ring = np.array([[*p] for p in points], float)
        turned = np.array(at) + ring @ np.array([[cos, sin], [-sin, cos]])
        half = len(ring) // 2
        sides = np.stack([turned[:half], turned[half:][::-1]])
        flat = np.concatenate([sides, np.full((*sides.shape[:2], 1), high)], -1)
        scene.meshes.add(flat, np.stack([ring[:half], ring[half:][::-1]]), stuffs.STEEL, seed=8, flip=False)
        closed = np.concatenate([turned, turned[:1]])
        wall = np.stack([np.c_[closed, np.full(len(closed), z)] for z in (low, high)])
        uv = np.stack([np.c_[np.arange(len(closed)) * 4.0, np.full(len(closed), z)] for z in (low, high)])
        scene.meshes.add(wall, uv, stuffs.STEEL, seed=8)

    put(-9, 0, 0.4, 172, 16, 3.2, stuffs.STEEL)
    corner, along, across = (at[0] - 9 * cos, at[1] - 9 * sin, 3.67), (cos, sin, 0), (-sin, cos, 0)
    flat = (np.array(along) * 172, np.array(across) * 16)
    sheet(scene.meshes, np.array(corner), *flat, stuffs.STEEL, seed=801, steps=60)
    scene.inks[801] = Ink(scale, (172, 16), (0.03, 0.03, 0.035), False)
    jaw([(-9, 0), (-9, -16), (-2.2, -38), (-0.05, -40), (-0.05, -6), (-0.05, 0)], 0.4, 3.6)
    o = opening
    jaw([(o + 0.05, 0), (o + 0.05, -6), (o + 0.05, -40), (o + 2.2, -38), (o + 12, -16), (o + 12, 0)], 0.4, 3.6)
    jaw([(-7, 16), (-5, 30), (-0.6, 34), (-0.1, 34), (-0.1, 24), (-0.1, 16)], 0.8, 2.6)
    jaw([(o + 0.1, 16), (o + 0.1, 24), (o + 0.1, 34), (o + 0.6, 34), (o + 6, 30), (o + 8, 16)], 0.8, 2.6)
    put(o + 0.1, -3.5, 3.4, 66, 24, 1.0, stuffs.STEEL, seed=802)
    put(o + 9, -6, 3.6, 56, 29, 7.0, stuffs.BLACK, seed=803)
    put(o + 14, 4, 10.6, 38, 15, 0.5, stuffs.GLASS, seed=804)
    scene.inks[804] = Ink(shown, (38, 15), (0.02, 0.024, 0.02), False)
    for n in range(3):
        put(o + 14.5 + n * 13, -3.2, 10.6, 9.5, 4.2, 0.9, stuffs.STEEL if n else stuffs.BLACK, seed=810 + n)
    if tape:
        put(118, -0.15, 3.55, 22, 16.3, 0.35, stuffs.PAPER, seed=805)
        scene.inks[805] = Ink(Image.new("L", (8, 8), 255), (22, 17), tape, False)
    tube(scene, [(at[0] + (o + 58) * cos + 7.5 * sin, at[1] + (o + 58) * sin - 7.5 * cos, z) for z in (1.0, 6.0)],
         [4.5, 4.5], stuffs.STEEL)  # fmt: skip


def clip(scene, vessel, frame, share, *, out, seed=0, span=0.055):
    """Set a small clamp over a plank: a maple bar across it on two pins."""
    points = []
    for offset in (-span, span):
        place = vessel.place(frame, share + offset, out)
        ahead = vessel.place(frame, share + offset, out + 1.0) - place
        pin(scene, place - ahead * 1.5, ahead, head=1.7, length=7.5)
        points.append(place + ahead * 2.0)
    first, last = points
    along = last - first
    first, along = first - along * 0.22, along * 1.44
    normal = vessel.place(frame, share, out + 1.0) - vessel.place(frame, share, out)
    wide = np.cross(along, normal)
    wide *= 4.4 / np.linalg.norm(wide)
    box(scene.meshes, first - wide / 2 - normal * 1.9, along, wide, normal * 2.4, stuffs.MAPLE, seed=seed, steps=30)


__all__ = ["Ink", "bar", "caliper", "clip", "draped", "pin", "plank", "sheet", "slip", "top", "tube"]
