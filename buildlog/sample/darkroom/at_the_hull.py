"""Pictures of the hull, each a scene: how far it is planked, what lies on it, where the camera is and the lamp."""

import numpy as np

from . import bench, pencil, stuffs
from .light import Scene
from .meshes import box
from .rays import View
from .vessel import FRAME_MM, Vessel

_WALE_RUN = [str(n) for n in range(18, 9, -1)]
_FLOOR = ["1", "2", "3", "3a", "4"]
# Where the room's light comes from: port lies bottom up, as it is planked; starboard is turned up on its side.
_ABOVE = {"port": (0, 0, -1), "starboard": (0, -0.9, 0.4)}
_LAMP = {"port": (-0.58, 0.50, -0.62), "starboard": (-0.62, -0.74, -0.20)}
_HEADS_MM, _BLOCKS_MM = 92.0, -26.0


def _at_hull(size, vessel, frame, share, away, *, angle=30, aside=(0, 0, 0), lamp=None, lean=None, roll=0.03, **more):
    """Return a scene that looks straight at a place of the planking, or from ``aside`` of it."""
    target = vessel.place(frame, share)
    normal = vessel.place(frame, share, 1.0) - target if lean is None else np.asarray(lean, float)
    place = target + normal / np.linalg.norm(normal) * away + np.asarray(aside, float)
    # The camera is held level with the strakes, give or take a little.
    bow = vessel.place(frame - 1, share) - vessel.place(frame + 1, share)
    ahead = (target - place) / np.linalg.norm(target - place)
    up = np.cross(bow / np.linalg.norm(bow), ahead)
    view = View(tuple(place), tuple(target), tuple(up + roll * bow / np.linalg.norm(bow)), *size, angle=angle)
    scene = Scene(view, lamp or _LAMP[vessel.side], vessel, above=_ABOVE[vessel.side], **more)
    vessel.put(scene.meshes)
    _lie(scene, vessel.side)
    return scene


def _lie(scene, side):
    """Port lies bottom up on its timber heads; starboard is turned up on the other side, on the bench."""
    if side == "port":
        bench.top(scene.meshes, (0, 0, _HEADS_MM))
    else:
        bench.top(scene.meshes, (0, 84, 0), (1, 0, 0), (0, 0, 1))


def girth_strip(size):
    vessel = Vessel("port", [])
    scene = _at_hull(size, vessel, 0.6, 0.48, 190, angle=36, aside=(6, 14, 0))
    far = [2.6, 85.4]
    bench.draped(scene, vessel, 0.0, (-0.02, 1.10), out=0.25, lift=0.5, ink=pencil.ticks([*far, far[0] + 1.9], 4.6))
    return scene


def battens(size):
    vessel = Vessel("port", [])
    target = vessel.place(-10.5, 0.5)
    view = View(tuple(target + np.array([225, 118, -105])), tuple(target + np.array([4, -22, 2])), (0, 0, -1), *size,
                angle=40)  # fmt: skip
    scene = Scene(view, (-0.05, 0.75, -0.66), vessel, above=(0, 0, -1), depth_of_field=95)
    vessel.put(scene.meshes)
    bench.top(scene.meshes, (0, 0, _HEADS_MM))
    for n, label in enumerate(("4", "9", "14")):
        seam = vessel.edge(label, wale_side=True)
        shares = np.interp(np.linspace(-18, 15, 40), vessel.fine, seam)
        bench.bar(scene, vessel, (-18, 15), shares, seed=30 + n)
        _pins_along(scene, vessel, np.linspace(-18, 15, 40), shares)
    bench.bar(scene, vessel, (-18, 15), [0.975] * 4, seed=34)
    _pins_along(scene, vessel, np.linspace(-18, 15, 40), np.full(40, 0.975))
    return scene


def _pins_along(scene, vessel, frames, shares):
    for frame in range(-17, 15, 3):
        share = float(np.interp(frame, frames, shares))
        place = vessel.place(frame, share, 0.6)
        bench.pin(scene, place, vessel.place(frame, share, 1.6) - place, head=1.0, length=3.2)


def drop_strake(size):
    vessel = Vessel("port", [str(n) for n in range(18, 11, -1)])
    return _at_hull(size, vessel, -16.2, 0.64, 74, angle=36, aside=(12, 6, -8), depth_of_field=30,
                    lamp=(0.50, 0.52, -0.66), exposure=0.88)


def garboard(size):
    vessel = Vessel("port", [*_WALE_RUN, "1"])
    return _at_hull(size, vessel, -2.5, 0.16, 190, angle=34, aside=(20, 16, 0), lean=(0, 0.62, -0.8))


def stealer(size):
    vessel = Vessel("port", [*_WALE_RUN, *_FLOOR])
    scene = _at_hull(size, vessel, 15.6, 0.20, 96, angle=34, aside=(-14, 16, -12), depth_of_field=40)
    scene.lamp = (0.35, 0.70, -0.62)
    return scene


def bilge_gap(size):
    vessel = Vessel("port", [*_WALE_RUN, *_FLOOR])
    scene = _at_hull(size, vessel, -0.25, 0.425, 158, angle=36, aside=(10, 8, -6))
    keel, wale = (float(np.interp(0, vessel.fine, vessel.edge(label, wale_side=side)))
                  for label, side in (("4", True), ("10", False)))  # fmt: skip
    _gap_strip(scene, vessel, 0.0, keel, wale, reach=0.17)
    return scene


def _gap_strip(scene, vessel, frame, keel, wale, *, reach, width=4.6):
    """Lay a strip across a gap, ticked where the free edges stand."""
    span = (keel - reach, wale + reach)

    def ink(length, shares, far):
        edges = [float(np.interp(share, shares, far)) for share in (keel, wale)]
        return pencil.ticks(edges, width)(length, shares, far)

    bench.draped(scene, vessel, frame, span, width=width, ink=ink, lift=0.9)


def starboard_gap(size):
    vessel = Vessel("starboard", [*_WALE_RUN, *_FLOOR])
    scene = _at_hull(size, vessel, 11.3, 0.47, 150, angle=36, aside=(-16, -20, 6))
    keel, wale = (float(np.interp(12, vessel.fine, vessel.edge(label, wale_side=side)))
                  for label, side in (("4", True), ("10", False)))  # fmt: skip
    _gap_strip(scene, vessel, 12.0, keel, wale, reach=0.19)
    return scene


def clamped(size):
    vessel = Vessel("port", [*_WALE_RUN, *_FLOOR, "9"], taken_off={"9": (-6.0, 18.1)})
    scene = _at_hull(size, vessel, -8.6, 0.52, 150, angle=35, aside=(18, 20, -14), depth_of_field=50)
    for n, frame in enumerate((-12, -9, -6.7)):
        middle = np.mean([np.interp(frame, vessel.fine, vessel.edge("9", wale_side=side)) for side in (True, False)])
        bench.clip(scene, vessel, frame, float(middle) + 0.006, out=vessel.thickness(0.5), seed=41 + n, span=0.062)
    return scene


def last_gap(size):
    vessel = Vessel("port", [*_WALE_RUN, *_FLOOR, "9", "8", "6", "5"])
    scene = _at_hull(size, vessel, -0.3, 0.42, 120, angle=36, aside=(-8, 14, -6), depth_of_field=48)
    keel, wale = (float(np.interp(0, vessel.fine, vessel.edge("7", wale_side=side))) for side in (False, True))
    _gap_strip(scene, vessel, 0.0, keel, wale, reach=0.16, width=4.2)
    return scene


def closing_dry(size):
    """Strake 7's fore piece lies in the gap without glue, its after end still proud."""
    vessel = Vessel("port", [*_WALE_RUN, *_FLOOR, "9", "8", "6", "5"])
    scene = _at_hull(size, vessel, -4.0, 0.43, 112, angle=36, aside=(-62, 58, 10), depth_of_field=55)
    frames = np.linspace(-17.9, -1.0, 130)
    keel, wale = (np.interp(frames, vessel.fine, vessel.edge("7", wale_side=side)) for side in (False, True))
    proud = 0.25 + 11 * np.clip((frames + 8.0) / 7.0, 0, 1) ** 2
    _loose_plank(scene, vessel, frames, keel + 0.0008, wale - 0.0008, proud)
    return scene


def _loose_plank(scene, vessel, frames, keel, wale, proud):
    corners = [(keel, 0.0), (keel, 1.32), (wale, 1.32), (wale, 0.0)]
    for n, ((a, low), (b, high)) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
        share = np.linspace(a, b, 6)
        out = np.linspace(proud + low, proud + high, 6)
        u = np.broadcast_to(frames, share.shape)
        uv = np.stack([u * FRAME_MM, share * 85], -1)
        scene.meshes.add(vessel.place(u, share, out), uv, stuffs.CHERRY if n == 1 else stuffs.EDGE, seed=93)
    share, out = np.meshgrid([keel[-1], wale[-1]], [proud[-1], proud[-1] + 1.32])
    points = vessel.place(np.full(share.shape, frames[-1]), share, out)
    scene.meshes.add(points, np.stack([share * 85, out], -1), stuffs.EDGE, seed=94)


def closed(size):
    bilge = [str(n) for n in range(5, 10)]
    vessel = Vessel("starboard", [*_WALE_RUN, *_FLOOR, *bilge])
    view = View((345, -420, 185), (40, -8, 27), (0, 0, 1), *size, angle=49)
    scene = Scene(view, (-0.45, -0.62, 0.65), vessel, above=(0, 0, 1), depth_of_field=260)
    vessel.put(scene.meshes)
    _cradle(scene)
    bench.top(scene.meshes, (0, 0, _BLOCKS_MM - 14))
    bench.top(scene.meshes, (-300, 640, 0), (1, 0, 0), (0, 0, 1), stuff=stuffs.WALL, reach=2500)
    return scene


def _cradle(scene):
    """Two boards under the keel, notched by being two, on a base."""
    base = _BLOCKS_MM - 14
    box(scene.meshes, (-190, -34, base), (380, 0, 0), (0, 68, 0), (0, 0, 8), stuffs.ASH, seed=51, steps=60)
    for n, x in enumerate((-120, 110)):
        box(scene.meshes, (x, -30, base + 8), (0, 60, 0), (9, 0, 0), (0, 0, 22), stuffs.ASH, seed=52 + n)
        for side in (-1, 1):
            corner = (x, side * 3.2, base + 30)
            box(scene.meshes, corner, (0, side * 24, 0), (9, 0, 0), (0, 0, 9), stuffs.ASH, seed=55 + n)


def from_the_bow(size):
    bilge = [str(n) for n in range(5, 10)]
    vessel = Vessel("port", [*_WALE_RUN, *_FLOOR, *bilge])
    target = vessel.place(-12.5, 0.5)
    view = View(tuple(target + np.array([200, 105, -95])), tuple(target + np.array([4, -18, 2])), (0, 0, -1), *size,
                angle=32)  # fmt: skip
    scene = Scene(view, (0.0, 0.78, -0.62), vessel, above=(0, 0, -1), depth_of_field=80)
    vessel.put(scene.meshes)
    bench.top(scene.meshes, (0, 0, _HEADS_MM))
    return scene


def scraped(size):
    """The starboard side half scraped: a steel on the bench edge of the picture, and its shavings."""
    bilge = [str(n) for n in range(5, 10)]
    vessel = Vessel("starboard", [*_WALE_RUN, *_FLOOR, *bilge], scraped_aft_of=-3.2)
    scene = _at_hull(size, vessel, -3.4, 0.55, 132, angle=36, aside=(-20, -6, 18), depth_of_field=52)
    _card_scraper(scene, vessel)
    rng = np.random.default_rng(12)
    for n in range(22):
        _shaving(scene, vessel, rng.uniform(-4.6, -1.6), rng.uniform(0.42, 0.68), rng, seed=300 + n)
    return scene


def _card_scraper(scene, vessel):
    """A plain card of steel, laid down on the planking."""
    corner = vessel.place(-4.3, 0.45, 2.0)
    ahead = vessel.place(-8.3, 0.45, 2.0) - corner
    normal = vessel.place(-6.3, 0.50, 1.0) - vessel.place(-6.3, 0.50, 0.0)
    aside = np.cross(normal, ahead)
    aside *= 24 / np.linalg.norm(aside)
    ahead = ahead + aside * 0.12
    box(scene.meshes, corner - aside * 0.4, ahead, aside, normal * 0.7, stuffs.STEEL, seed=88, steps=40)


def _shaving(scene, vessel, frame, share, rng, *, seed):
    t = np.linspace(0, 1, 60)
    start, normal = vessel.place(frame, share, 2.1), vessel.place(frame, share, 3.1) - vessel.place(frame, share, 2.1)
    ahead = np.array([1.0, 0, 0]) + rng.normal(0, 0.3, 3)
    ahead -= normal * (ahead @ normal)
    ahead /= np.linalg.norm(ahead)
    side = np.cross(ahead, normal)
    turns, radius = rng.uniform(1.2, 2.6) * 2 * np.pi, rng.uniform(1.0, 2.0) * (1 - 0.45 * t)
    rise = radius * (1 - np.cos(turns * t))
    spine = start + np.outer(np.sin(turns * t) * radius + t * 2, ahead) + np.outer(rise, normal)
    spine = spine + np.outer(t * rng.uniform(-3, 3), side)
    rows = np.stack([spine - side * 0.9, spine + side * 0.9])
    scene.meshes.add(rows, np.stack(np.meshgrid(t * 30, [0, 1.8]), -1), stuffs.EDGE, seed=seed)
