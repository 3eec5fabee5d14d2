"""Light on what is seen: a lamp with soft shadows, the room's light, gloss, a lens and a film."""

from dataclasses import dataclass, field

import numpy as np
from PIL import Image, ImageFilter

from . import stuffs
from .meshes import Meshes
from .noise import cell
from .rays import View, even, nearest, shares_at

_LAMP, _ROOM, _BOUNCE = np.array([2.15, 1.98, 1.72]), np.array([0.47, 0.50, 0.56]), np.array([0.22, 0.18, 0.14])


@dataclass
class Scene:
    """What stands before the camera; ``inks`` are drawings laid on papers and dials, by their seed."""

    view: View
    lamp: tuple
    vessel: object = None
    meshes: Meshes = field(default_factory=Meshes)
    inks: dict = field(default_factory=dict)
    focus: float = 0.0
    depth_of_field: float = 60.0
    exposure: float = 1.0
    above: tuple = (0, 0, 1)

    def photograph(self) -> Image.Image:
        """Return the picture, at the size of the view."""
        points, normals, across, uv, triangles, marks = self.meshes.gathered()
        holes = self._holes(uv, triangles, marks)
        found, depth = nearest(self.view, self.view.shown(points), triangles, is_there=holes)
        seen = np.flatnonzero(found >= 0)
        chosen = found[seen]
        shares = self._shares(seen, self.view.shown(points), triangles[chosen])
        here, normal, way, uv = (
            (shares[..., None] * values[triangles[chosen]].transpose(1, 0, 2)).sum(0)
            for values in (points, normals, across, uv)
        )
        normal, way = _unit(normal), _unit(way)
        toward = _unit(np.asarray(self.view.place) - here)
        facing = np.where((normal * toward).sum(1, keepdims=True) < 0, -1.0, 1.0)
        colour, normal, gloss = self._made_of(marks[chosen], uv, normal * facing, way)
        lit = self._lamp_reaches(points, triangles, holes, here, normal)
        light = self._lit(colour, normal, gloss, toward, lit) * self._hollows(depth)[seen][:, None]
        picture = np.zeros((self.view.width * self.view.height, 3), dtype=np.float32)
        picture[seen] = light
        return self._developed(picture.reshape(self.view.height, self.view.width, 3), depth)

    def _holes(self, uv, triangles, marks):
        if self.vessel is None:
            return None
        frame, share = np.meshgrid(np.linspace(-18, 18, 2161), np.linspace(0, 1, 1201))
        planked = self.vessel.is_planked(frame, share)

        def is_there(triangle, shares):
            at = (shares[..., None] * uv[triangles[triangle]].transpose(1, 0, 2)).sum(0)
            column = np.clip(np.round((at[:, 0] + 18) * 60).astype(int), 0, 2160)
            row = np.clip(np.round(at[:, 1] * 1200).astype(int), 0, 1200)
            return (marks[triangle, 0] != stuffs.PLANKING) | planked[row, column]

        return is_there

    def _shares(self, seen, corners, triangles):
        px, py = seen % self.view.width + 0.5, seen // self.view.width + 0.5
        x, y, z = (corners[triangles, axis] for axis in range(3))
        shares = shares_at(px[:, None], py[:, None], x, y)[..., 0]
        return even(shares, z.T, flat=False)

    def _made_of(self, marks, uv, normal, way):
        colour, gloss = np.zeros((len(uv), 3), dtype=np.float32), np.zeros(len(uv), dtype=np.float32)
        lean = np.zeros(len(uv), dtype=np.float32)
        for stuff in np.unique(marks[:, 0]):
            here = np.flatnonzero(marks[:, 0] == stuff)
            u, v, seed = uv[here, 0], uv[here, 1], marks[here, 1]
            if stuff == stuffs.PLANKING:
                colour[here], relief, rolled = stuffs.planking(self.vessel, u, v)
                lean[here] = relief * 0.10 + rolled
            else:
                colour[here], relief = stuffs.plain(stuff, u, v, seed)
                lean[here] = relief * 0.12
            gloss[here] = stuffs.GLOSS.get(stuff, 0.04)
        for seed, ink in self.inks.items():
            here = np.flatnonzero(marks[:, 1] == seed)
            colour[here] = ink.on(colour[here], uv[here, 0], uv[here, 1])
        return colour, _unit(normal + way * lean[:, None]), gloss

    def _lamp_reaches(self, points, triangles, holes, here, normal):
        """Return how much of the lamp each place sees: a shadow is soft in proportion to what casts it."""
        target, lamp = np.asarray(self.view.target, float), _unit(np.asarray(self.lamp, float))
        reach = 2.2 * np.linalg.norm(np.asarray(self.view.place) - target) * np.tan(np.radians(self.view.angle) / 2)
        reach = max(reach, 60) * 1.25
        size = min(1800, 2 * self.view.width)
        beam = View(tuple(target + lamp * 900), tuple(target), (0.3, 0.9, 0.2), size, size, reach=reach)
        _found, depth = nearest(beam, beam.shown(points), triangles, is_there=holes)
        depth = depth.reshape(size, size)
        seen = beam.shown(here + normal * 0.12)
        turn = cell(np.arange(len(here)) % 4099, np.arange(len(here)) // 4099, 3) * 2 * np.pi
        blockers, far = np.zeros(len(here)), np.zeros(len(here))
        for n in range(10):
            x, y = _spiral(n, 10, turn, 5.0 * beam.pixels)
            behind = seen[:, 2] - _at(depth, seen[:, 0] + x, seen[:, 1] + y)
            blocked = behind > 0.25
            blockers += blocked
            far += np.where(blocked, np.minimum(behind, 200), 0)
        spread = np.clip(far / np.maximum(blockers, 1) * 0.14, 0.18, 6.0) * beam.pixels
        free = np.zeros(len(here))
        for n in range(14):
            x, y = _spiral(n, 14, turn, spread)
            free += seen[:, 2] - _at(depth, seen[:, 0] + x, seen[:, 1] + y) < 0.18
        return free / 14

    def _lit(self, colour, normal, gloss, toward, lit):
        lamp, above = _unit(np.asarray(self.lamp, float)), _unit(np.asarray(self.above, float))
        falls = np.clip((normal * lamp).sum(1), 0, 1) * lit
        sky = 0.5 + 0.5 * (normal * above).sum(1)
        light = falls[:, None] * _LAMP + sky[:, None] * _ROOM + (1 - sky)[:, None] * _BOUNCE
        half = _unit(lamp + toward)
        sharp = np.clip((normal * half).sum(1), 0, 1)
        shine = (sharp**22 * 0.6 + sharp**120 * 1.0) * lit
        edge = (1 - np.clip((normal * toward).sum(1), 0, 1)) ** 4
        mirrored = normal * 2 * (normal * toward).sum(1, keepdims=True) - toward
        window = np.clip((mirrored @ above) * 1.6 - 0.1, 0, 1) * (0.55 + 0.45 * edge)
        metal = np.clip((gloss - 0.5) * 4, 0, 1)
        glossy = gloss * (shine * 2.2 + edge * 0.5) + metal * window * 0.65
        return colour * light * (1 - 0.45 * metal)[:, None] + glossy[:, None] * np.array([1.0, 0.97, 0.92])

    def _hollows(self, depth):
        """Return how open each place lies: what is farther than what surrounds it gets less of the room's light."""
        far = np.where(np.isfinite(depth), depth, np.nanmax(np.where(np.isfinite(depth), depth, np.nan)))
        far = far.reshape(self.view.height, self.view.width)
        per_mm = self.view.pixels / max(self.view_distance, 1)
        openness = np.ones_like(far)
        for mm, most in ((0.5, 0.10), (2.2, 0.26), (7.0, 0.22)):
            sunk = np.clip((far - _evened(far, mm * per_mm)) / (mm * 0.9), 0, 1)
            openness *= 1 - most * sunk
        return openness.ravel()

    @property
    def view_distance(self):
        return float(np.linalg.norm(np.asarray(self.view.place) - np.asarray(self.view.target)))

    def _developed(self, picture, depth):
        """Even the highlights, let the corners fall off, blur what is out of focus, and add the film's grain."""
        height, width = picture.shape[:2]
        y, x = np.mgrid[0:height, 0:width].astype(np.float32)
        corner = ((x / width - 0.5) ** 2 + ((y / height - 0.5) * height / width) ** 2) / 0.37
        light = picture * self.exposure * (1 - 0.40 * corner)[..., None]
        # The shoulder of a film: highlights crowd together below white and keep their colour.
        light = light * (1 + light / 5.0) / (1 + 0.75 * light)
        shown = np.clip(light, 0, 1) ** (1 / 2.2)
        shown = shown + 0.10 * (shown - 0.5) * (1 - np.abs(2 * shown - 1))
        image = Image.fromarray((np.clip(shown, 0, 1) * 255).astype(np.uint8))
        return _grain(self._focused(image, depth.reshape(height, width)))

    def _focused(self, image, depth):
        focus = self.focus or self.view_distance
        far = np.abs(np.where(np.isfinite(depth), depth, focus + 400) - focus)
        off = np.clip(far / self.depth_of_field - 0.6, 0, 3)
        sharp = image
        for level, radius in enumerate((1.0, 2.6, 5.5)):
            blurred = sharp.filter(ImageFilter.GaussianBlur(radius * image.width / 1000))
            share = np.clip(off - level, 0, 1)
            mask = Image.fromarray((_evened(share, 2.0) * 255).astype(np.uint8))
            image = Image.composite(blurred, image, mask)
        return image


def _evened(values, over):
    from scipy.ndimage import gaussian_filter

    return gaussian_filter(values, over)


def _grain(image):
    values = np.asarray(image, dtype=np.float32)
    y, x = np.mgrid[0 : values.shape[0], 0 : values.shape[1]]
    speckle = (cell(x, y, 1) + cell(x, y, 2) - 1) * 1.4
    return Image.fromarray(np.clip(values + speckle[..., None], 0, 255).astype(np.uint8))


def _unit(vectors):
    return vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-9)


def _spiral(n, of, turn, radius):
    angle, far = turn + n * 2.39996, np.sqrt((n + 0.5) / of) * radius
    return np.cos(angle) * far, np.sin(angle) * far


def _at(depth, x, y):
    """Return the lamp's depth at points of its view; beyond its edge nothing stands in the way."""
    size = depth.shape[0]
    column, row = x.astype(np.int32), y.astype(np.int32)
    inside = (column >= 0) & (column < size) & (row >= 0) & (row < size)
    return np.where(inside, depth[np.clip(row, 0, size - 1), np.clip(column, 0, size - 1)], np.inf)
