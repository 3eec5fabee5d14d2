"""Noise that is the same on every machine: values hashed from whole numbers, and evened between them."""

import numpy as np


def _hashed(x, y, seed):
    with np.errstate(over="ignore"):
        n = x.astype(np.uint32) * np.uint32(374761393) + y.astype(np.uint32) * np.uint32(668265263)
        n = n + np.asarray(seed).astype(np.uint32) * np.uint32(2246822519)
        n = (n ^ (n >> np.uint32(13))) * np.uint32(1274126177)
        n = (n ^ (n >> np.uint32(15))) * np.uint32(2654435761)
        return ((n ^ (n >> np.uint32(16))) >> np.uint32(8)).astype(np.float32) / np.float32(1 << 24)


def cell(x, y, seed=0):
    """Return a value from 0 to 1 for each whole cell."""
    return _hashed(np.floor(x).astype(np.int64), np.floor(y).astype(np.int64), seed)


def soft(x, y, seed=0):
    """Return noise from -1 to 1 that changes softly over one unit."""
    x0, y0 = np.floor(x).astype(np.int64), np.floor(y).astype(np.int64)
    u, v = (x - x0).astype(np.float32), (y - y0).astype(np.float32)
    u, v = u * u * (3 - 2 * u), v * v * (3 - 2 * v)
    low = _hashed(x0, y0, seed) * (1 - u) + _hashed(x0 + 1, y0, seed) * u
    high = _hashed(x0, y0 + 1, seed) * (1 - u) + _hashed(x0 + 1, y0 + 1, seed) * u
    return (low * (1 - v) + high * v) * 2 - 1


def rough(x, y, seed=0, octaves=3):
    """Return noise of several sizes together, about -1 to 1."""
    total, weight = 0, 0.0
    for octave in range(octaves):
        share = 0.5**octave
        total = total + soft(x * 2**octave, y * 2**octave, np.asarray(seed) + 101 * octave) * share
        weight += share
    return total / weight
