"""What is seen from where: a camera or a lamp, and for every point of the picture the nearest triangle."""

from dataclasses import dataclass

import numpy as np

_AT_ONCE = 1_000_000


@dataclass
class View:
    """A camera, or with ``reach`` a lamp far away whose beam is that many mm across."""

    place: tuple
    target: tuple
    up: tuple
    width: int
    height: int
    angle: float = 30.0
    reach: float = 0.0

    def __post_init__(self):
        place, target = np.asarray(self.place, float), np.asarray(self.target, float)
        ahead = (target - place) / np.linalg.norm(target - place)
        right = np.cross(ahead, np.asarray(self.up, float))
        right /= np.linalg.norm(right)
        self.axes = np.stack([right, np.cross(right, ahead), ahead])
        self.place = place
        self.pixels = self.width / (self.reach or 2 * np.tan(np.radians(self.angle) / 2))

    def shown(self, points):
        """Return x, y in points of the picture and the depth in mm."""
        seen = (np.asarray(points, float) - self.place) @ self.axes.T
        depth = seen[:, 2]
        scale = self.pixels / (1.0 if self.reach else np.where(depth > 1, depth, 1.0))
        x, y = self.width / 2 + seen[:, 0] * scale, self.height / 2 - seen[:, 1] * scale
        return np.stack([x, y, depth], 1)


def nearest(view, corners, triangles, *, is_there=None):
    """Return for every point of the view the nearest triangle, -1 for none, and its depth.

    ``is_there(triangle numbers, shares)`` may say that a triangle has a hole at a place.
    """
    depth = np.full(view.width * view.height, np.inf, dtype=np.float32)
    found = np.full(view.width * view.height, -1, dtype=np.int32)
    x, y, z = (corners[triangles, axis] for axis in range(3))
    low = np.floor(np.stack([x.min(1), y.min(1)], 1)).astype(int)
    high = np.ceil(np.stack([x.max(1), y.max(1)], 1)).astype(int)
    inside = (high > 0).all(1) & (low[:, 0] < view.width) & (low[:, 1] < view.height) & (z.min(1) > 1)
    low, high = np.maximum(low, 0), np.minimum(high, [view.width, view.height])
    # Triangles are tried many at once, those of about the same width and height together.
    sizes = 1 << np.ceil(np.log2(np.maximum(high - low, 2))).astype(int)
    for wide, tall in np.unique(sizes[inside], axis=0):
        members = np.flatnonzero(inside & (sizes == (wide, tall)).all(1))
        step = max(1, _AT_ONCE // int(wide * tall))
        for start in range(0, len(members), step):
            _cover(view, members[start : start + step], (wide, tall), low, (x, y, z), depth, found, is_there)
    return found, depth


def _cover(view, members, size, low, corners, depth, found, is_there):
    across, down = np.meshgrid(np.arange(size[0]), np.arange(size[1]))
    px, py = low[members, :1] + across.ravel(), low[members, 1:] + down.ravel()
    x, y, z = (each[members] for each in corners)
    shares = shares_at(px + 0.5, py + 0.5, x, y)
    hit = (shares >= -1e-6).all(0) & (px < view.width) & (py < view.height)
    which, cell = np.nonzero(hit)
    shares, triangle = shares[:, which, cell], members[which]
    shares = even(shares, z[which].T, flat=bool(view.reach))
    if is_there is not None:
        kept = is_there(triangle, shares)
        which, cell, triangle, shares = which[kept], cell[kept], triangle[kept], shares[:, kept]
    far = (shares * z[which].T).sum(0).astype(np.float32)
    at = py[which, cell] * view.width + px[which, cell]
    np.minimum.at(depth, at, far)
    won = depth[at] == far
    found[at[won]] = triangle[won]


def shares_at(px, py, x, y):
    """Return the three corners' shares at points, one row of points a triangle."""
    (xa, xb, xc), (ya, yb, yc) = (each.T[:, :, None] for each in (x, y))
    area = (xb - xa) * (yc - ya) - (xc - xa) * (yb - ya)
    area = np.where(np.abs(area) < 1e-12, np.inf, area)
    second = ((px - xa) * (yc - ya) - (xc - xa) * (py - ya)) / area
    third = ((xb - xa) * (py - ya) - (px - xa) * (yb - ya)) / area
    return np.stack([1 - second - third, second, third])


def even(shares, depths, *, flat):
    """Return shares as they are on the surface and not on the picture: what is far is drawn closer together."""
    if flat:
        return shares
    shares = shares / depths
    return shares / shares.sum(0)
