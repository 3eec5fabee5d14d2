"""Surfaces in pieces: grids of points with a stuff each, gathered into one list of triangles."""

from dataclasses import dataclass, field

import numpy as np


@dataclass
class Meshes:
    """Triangles with, at each corner, a place, a normal, the way across the grain, and two coordinates in mm."""

    parts: list = field(default_factory=list)
    count: int = 0

    def add(self, points, uv, stuff, *, seed=0, flip=False):
        """Add a grid of points, rows along v and columns along u; its normal looks to the side of u cross v."""
        points, uv = np.asarray(points, float), np.asarray(uv, float)
        along, across = np.gradient(points, axis=1), np.gradient(points, axis=0)
        normal = _unit(np.cross(along, across)) * (-1 if flip else 1)
        rows, columns = points.shape[:2]
        at = np.arange(rows * columns).reshape(rows, columns) + self.count
        a, b, c, d = at[:-1, :-1].ravel(), at[:-1, 1:].ravel(), at[1:, 1:].ravel(), at[1:, :-1].ravel()
        triangles = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
        flat = [part.reshape(-1, part.shape[-1]) for part in (points, normal, _unit(across), uv)]
        marks = np.tile(np.array([[stuff, seed]], dtype=np.int32), (len(triangles), 1))
        self.parts.append((*flat, triangles, marks))
        self.count += rows * columns

    def gathered(self):
        """Return points, normals, ways across, coordinates, triangles and their (stuff, seed)."""
        return [np.concatenate(pieces) for pieces in zip(*self.parts, strict=True)]


def _unit(vectors):
    return vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-9)


def box(meshes, corner, along, across, up, stuff, *, seed=0, steps=24):
    """Add a box from one corner and three edges; the grain runs with ``along``."""
    corner, along, across, up = (np.asarray(v, float) for v in (corner, along, across, up))
    faces = [
        (corner + up, along, across), (corner, across, along), (corner, along, up), (corner + across, up, along),
        (corner, up, across), (corner + along, across, up),
    ]  # fmt: skip
    for start, first, second in faces:
        sheet(meshes, start, first, second, stuff, seed=seed, steps=steps, grain=along)


def sheet(meshes, start, first, second, stuff, *, seed=0, steps=24, grain=None):
    """Add a flat sheet; its coordinates are mm with the grain and across it, from the corner."""
    long, wide = np.linalg.norm(first), np.linalg.norm(second)
    u, v = np.meshgrid(np.linspace(0, 1, _steps(long, steps)), np.linspace(0, 1, _steps(wide, steps)))
    points = start + u[..., None] * first + v[..., None] * second
    with_grain = grain is None or abs(np.dot(grain, first)) >= abs(np.dot(grain, second))
    uv = np.stack([u * long, v * wide] if with_grain else [v * wide, u * long], -1)
    meshes.add(points, uv, stuff, seed=seed)


def _steps(length, most):
    return int(np.clip(length / 3, 2, most))
