"""The invented hull in three dimensions, planked with the strakes of the sample's own plan."""

from functools import cached_property

import numpy as np

from buildlog.sample import hull

from . import stuffs
from .meshes import Meshes, box

FRAME_MM = 13.76
PLANK_MM = 1.32
FINE = 60
_ENDS = (hull.FORE_END, hull.AFTER_END)
# The strake that is cut out for the nib of another.
LET_INTO = {"12": "13", "8": "9", "3a": "4"}

# At frames counted aft from dead flat: half-breadth, height of wale and of rabbet, and how full the section is.
_SHAPE = np.array([
    (-18.0, 3.0, 58, 17.0, 0.62, 0.30, 1.00, 0.55), (-17.4, 14.5, 57, 13.5, 0.58, 0.20, 1.02, 0.52),
    (-16.6, 26, 56, 9.5, 0.55, 0.16, 1.02, 0.50), (-15, 41, 54, 4.5, 0.55, 0.12, 1.02, 0.46),
    (-12, 54, 51, 1.2, 0.58, 0.08, 1.02, 0.36), (-8, 62, 48.5, 0, 0.64, 0.06, 1.02, 0.28),
    (-3, 66, 47, 0, 0.68, 0.05, 1.02, 0.24), (2, 66, 47, 0, 0.68, 0.05, 1.02, 0.24),
    (7, 64, 48.5, 0, 0.60, 0.08, 1.02, 0.28), (11, 60, 52, 0, 0.42, 0.16, 1.00, 0.36),
    (14, 54, 57, 0, 0.20, 0.30, 0.88, 0.46), (16.5, 48, 63, 0, 0.07, 0.42, 0.70, 0.56),
    (18, 44, 67, 0, 0.02, 0.48, 0.60, 0.62),
])  # fmt: skip


def eased(x, xs, ys):
    """Return a smooth curve through points: straight between them, then evened by their own slopes."""
    xs, ys = np.asarray(xs, float), np.asarray(ys, float)
    slopes = np.gradient(ys, xs)
    n = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(xs) - 2)
    step = xs[n + 1] - xs[n]
    t = (x - xs[n]) / step
    bend = (2 * t**3 - 3 * t**2 + 1) * ys[n] + (3 * t**2 - 2 * t**3) * ys[n + 1]
    return bend + step * ((t**3 - 2 * t**2 + t) * slopes[n] + (t**3 - t**2) * slopes[n + 1])


class Vessel:
    """One side of the hull; ``hung`` names its strakes, and ``ends`` where a plank of one is left out."""

    def __init__(self, side, hung, *, taken_off=None, scraped_aft_of=99.0):
        self.side, self.hung, self.taken_off = side, set(hung), taken_off or {}
        self.scraped_aft_of = scraped_aft_of
        self.sign = 1 if side == "port" else -1
        self.planned = hull.planned_strakes(2)
        self.labels = [strake.label for strake in self.planned]

    # --- where strakes run ----------------------------------------------------------------------------------

    @cached_property
    def fine(self):
        return np.linspace(*_ENDS, (_ENDS[1] - _ENDS[0]) * FINE + 1)

    @cached_property
    def edges(self):
        """Return each seam's place from the keel (0) to the wale (1) at every fine place, keel side first."""
        widths = np.stack(self.widths)
        seams = np.concatenate([np.zeros((1, widths.shape[1])), np.cumsum(widths, 0)])
        return seams / seams[-1]

    @cached_property
    def widths(self):
        """Return every strake's width in inches; what a nib leaves free goes to the neighbour it is let into."""
        widths = {strake.label: self._plain_width(strake) for strake in self.planned}
        for label, neighbour in LET_INTO.items():
            belt = self.planned[self.labels.index(label)].belt
            members = [strake for strake in self.planned if strake.belt == belt]
            stations = sorted(hull.STATIONS.values())
            names = {frame: name for name, frame in hull.STATIONS.items()}
            room = [sum(float(strake.widths_in.get(names[frame], 0)) for strake in members) for frame in stations]
            others = sum(widths[strake.label] for strake in members if strake.label != neighbour)
            widths[neighbour] = eased(self.fine, stations, room) - others
        return [widths[label] for label in self.labels]

    def _plain_width(self, strake):
        at = [hull.STATIONS[name] for name in strake.widths_in]
        widths = [float(width) for width in strake.widths_in.values()]
        if strake.kind == "full":
            return eased(self.fine, at, widths)
        # Within one frame it narrows to a nib of a good third of its width, and ends there.
        start, end = strake.spans[0]
        reaches = (self.fine >= start) & (self.fine <= end)
        past = self.fine - start
        taper = 0.36 + 0.64 * np.clip(past, 0, 1)
        whole = np.interp(self.fine, at, widths)
        return np.where(reaches, whole * taper, 0.0)

    @cached_property
    def girth_mm(self):
        return sum(self.widths) * 25.4 / 48

    def strake_at(self, frame, share):
        """Return which strake lies at a place, and its keel-side and wale-side seams there."""
        column = (np.asarray(frame) - _ENDS[0]) * FINE
        near = np.clip(np.round(column).astype(int), 0, self.edges.shape[1] - 1)
        which = np.zeros(np.shape(frame), dtype=np.int16)
        for seam in self.edges[1:-1]:
            which += share > seam[near]
        low = np.clip(np.floor(column).astype(int), 0, self.edges.shape[1] - 2)
        part = np.clip(column - low, 0, 1)
        jump = np.abs(self.edges[which + 1, low + 1] - self.edges[which + 1, low]) > 0.01
        part = np.where(jump, np.round(part), part)
        keel = self.edges[which, low] * (1 - part) + self.edges[which, low + 1] * part
        wale = self.edges[which + 1, low] * (1 - part) + self.edges[which + 1, low + 1] * part
        return which, keel, wale

    def edge(self, label, *, wale_side):
        return self.edges[self.labels.index(label) + (1 if wale_side else 0)]

    def is_planked(self, frame, share):
        which, _keel, _wale = self.strake_at(frame, share)
        planked = np.array([label in self.hung for label in self.labels])[which]
        for label, (fore, aft) in self.taken_off.items():
            planked &= ~((which == self.labels.index(label)) & (frame > fore) & (frame < aft))
        return planked | (share > 1)

    # --- where places lie -----------------------------------------------------------------------------------

    def place(self, frame, share, out=0.0):
        """Return the place of a frame and a share of the girth (over 1 is above the wale), ``out`` mm outside."""
        frame, share = np.broadcast_arrays(np.asarray(frame, float), np.asarray(share, float))
        here, along = self._bare(frame, share), self._bare(frame - 0.04, share) - self._bare(frame + 0.04, share)
        across = self._bare(frame, share + 0.004) - self._bare(frame, share - 0.004)
        normal = np.cross(along, across) * -1
        normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-9)
        return (here + normal * np.asarray(out)[..., None]) * np.array([1, self.sign, 1])

    def _bare(self, frame, share):
        breadth, wale, rabbet, a, b, c, d = (
            eased(np.clip(frame, *_ENDS), _SHAPE[:, 0], _SHAPE[:, n]) for n in range(1, 8)
        )
        # The planks end on the stem rabbet, which curves aft towards the keel.
        ahead = np.clip((-frame - 13.5) / 4.5, 0, 1) ** 2
        t = np.clip(share, -0.05, 1)
        t = t + 0.10 * np.sin(np.pi * t) * 0.5
        keel = 2.4
        y = _curve(t, keel, keel + a * (breadth - keel), c * breadth, breadth)
        z = rabbet + (wale - rabbet) * _curve(t, 0, b, d, 1)
        above = np.clip(share - 1, 0, None) * 80
        y, z = y - 0.0016 * above**2 * (1 - 0.4 * ahead), z + above * 0.98
        x = -frame * FRAME_MM - ahead * 17 * (1 - np.clip((z - 8) / 52, 0, 1.2)) ** 2
        return np.stack([x, y, z], -1)

    # --- what is seen ---------------------------------------------------------------------------------------

    def put(self, meshes: Meshes, *, fore=-18.0, aft=18.0, top=1.5, step=0.25):
        """Put frames, planks with their free edges, wale, keel and stem into the meshes."""
        frames = np.linspace(fore, aft, int((aft - fore) / step) + 1)
        self._frames(meshes, int(np.ceil(fore)) + 1, int(aft) - 1, top)
        self._inside(meshes, frames, top)
        thick = np.linspace(-0.005, 1.0, 112)
        self._shell(meshes, frames, thick, self.thickness, stuffs.PLANKING)
        self._free_edges(meshes, fore, aft)
        self._wale(meshes, frames)
        self._backbone(meshes)

    def thickness(self, share):
        return PLANK_MM + 0.8 * np.clip((share - 0.82) / 0.16, 0, 1)

    def _shell(self, meshes, frames, shares, out, stuff, *, seed=0):
        u, v = np.meshgrid(frames, shares)
        meshes.add(self.place(u, v, out(v)), np.stack([u, v], -1), stuff, seed=seed, flip=self.sign > 0)

    def _frames(self, meshes, fore, aft, top):
        shares = np.linspace(0.0, top, 70)
        for number in range(fore, aft + 1):
            for edge, other in ((-0.27, 0.27), (0.27, 0.27), (-0.27, -0.27)):
                is_face = edge != other
                u, v = np.meshgrid([number + edge, number + other], shares)
                out = np.zeros_like(u)
                if not is_face:
                    out = np.tile([0.0, -7.0] if edge > 0 else [-7.0, 0.0], (len(shares), 1))
                points = self.place(u, v, out)
                # The grain of a frame runs along it: mm along the girth first.
                uv = np.stack([v * 85, (u - number) * FRAME_MM + out], -1)
                meshes.add(points, uv, stuffs.FRAME, seed=number + 60, flip=self.sign > 0)

    def _inside(self, meshes, frames, top):
        self._shell(meshes, frames, np.linspace(0, top, 40), lambda v: np.full(np.shape(v), -7.0), stuffs.INSIDE)

    def _free_edges(self, meshes, fore, aft):
        """Give every edge that no neighbour covers its thickness of wood."""
        columns = np.flatnonzero((self.fine >= fore) & (self.fine <= aft))[::6]
        frames = self.fine[columns]
        for n in range(1, len(self.edges)):
            seam = self.edges[n][columns]
            keel, wale = (self.is_planked(frames, seam + d) & (seam + d < 1) for d in (-0.004, 0.004))
            for run in _runs(keel != wale):
                self._edge(meshes, frames[run], seam[run], keel_side=bool(keel[run][len(run) // 2]), seed=n)

    def _edge(self, meshes, frames, seam, *, keel_side, seed):
        u, out = np.meshgrid(frames, np.linspace(0, 1, 3))
        share = np.broadcast_to(seam, u.shape)
        points = self.place(u, share, out * self.thickness(share))
        uv = np.stack([u * FRAME_MM, out * 1.3 + seed * 9], -1)
        meshes.add(points, uv, stuffs.EDGE, seed=seed, flip=keel_side == (self.sign > 0))

    def _wale(self, meshes, frames):
        u, v = np.meshgrid(frames, np.linspace(1.0, 1.15, 10))
        uv = np.stack([u * FRAME_MM, v * 85], -1)
        meshes.add(self.place(u, v, np.full(u.shape, 2.8)), uv, stuffs.WALE, seed=3, flip=self.sign > 0)
        for share, flip in ((1.0, self.sign > 0), (1.15, self.sign < 0)):
            u, out = np.meshgrid(frames, np.linspace(0, 2.8, 3))
            points = self.place(u, np.full(u.shape, share), out)
            meshes.add(points, np.stack([u * FRAME_MM, out], -1), stuffs.WALE, seed=4, flip=not flip)

    def _backbone(self, meshes):
        """Keel, stem and sternpost, as thick as the rabbets are apart."""
        y = 2.6
        below = -_ENDS[1] * FRAME_MM
        box(meshes, (below - 6, -y, -10), (435.5, 0, 0), (0, 2 * y, 0), (0, 0, 18), stuffs.KEEL, seed=1, steps=120)
        box(meshes, (below - 7, -y, -10), (7.5, 0, 0), (0, 2 * y, 0), (0, 0, 82), stuffs.KEEL, seed=2)
        # The after hood ends land on the fashion piece, which closes the hull there.
        edge = self.place(np.full(60, 18.0), np.linspace(0, 1.3, 60), np.full(60, 1.3)) - [2.5, 0, 0]
        piece = np.stack([edge * [1, 0, 1], edge * [1, 0.5, 1], edge])
        for x in (0.0, 2.6):
            uv = np.stack(np.meshgrid(np.linspace(0, 90, 60), [0, 20, 40]), -1)
            meshes.add(piece + np.array([x, 0, 0]), uv, stuffs.KEEL, seed=7)
        shares = np.linspace(-0.45, 1.3, 90)
        inner = self._bare(np.full(90, -18.0), np.clip(shares, 0, 1.3))
        inner[:, 0] = np.where(shares < 0, inner[:, 0] + shares * 120, inner[:, 0])
        inner[:, 2] = np.where(shares < 0, inner[:, 2] * (1 + shares / 0.45) ** 1.6, inner[:, 2])
        lean = np.stack([np.gradient(inner[:, 2]), np.zeros(90), -np.gradient(inner[:, 0])], -1)
        lean /= np.linalg.norm(lean, axis=1, keepdims=True)
        for level in (y, -y):
            rows = np.stack([inner - lean * 4, inner + lean * 4.5, inner + lean * 10], 0)
            rows[..., 1] = level
            uv = np.stack(np.meshgrid(np.linspace(0, 90, 90), [0, 7, 14]), -1)
            meshes.add(rows, uv, stuffs.KEEL, seed=5, flip=level < 0)
        face = np.stack([inner + lean * 10, inner + lean * 10], 0)
        face[0, :, 1], face[1, :, 1] = -y, y
        meshes.add(face, np.stack(np.meshgrid(np.linspace(0, 90, 90), [0, 5]), -1), stuffs.KEEL, seed=6)


def _curve(t, a, b, c, d):
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d


def _runs(mask):
    """Return the unbroken runs of a mask that are long enough to draw."""
    places = np.flatnonzero(mask)
    return [run for run in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1) if len(run) > 1]
