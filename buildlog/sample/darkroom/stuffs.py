"""What things are made of: colour, gloss and relief at each place, by coordinates in mm with and across the grain."""

import numpy as np

from .noise import cell, rough, soft

PLANKING, FRAME, INSIDE, EDGE, WALE, KEEL, CHERRY, BENCH, STEEL, PAPER, BLACK, MAPLE, GLASS, ASH, WALL = range(15)

# Light and dark of each wood, as light reflected (linear).
_WOODS = {
    FRAME: ((0.50, 0.335, 0.165), (0.36, 0.215, 0.095)), MAPLE: ((0.68, 0.50, 0.30), (0.56, 0.38, 0.20)),
    WALE: ((0.105, 0.06, 0.04), (0.06, 0.035, 0.026)), KEEL: ((0.27, 0.125, 0.065), (0.17, 0.07, 0.036)),
    CHERRY: ((0.335, 0.130, 0.052), (0.165, 0.050, 0.018)), EDGE: ((0.46, 0.20, 0.088), (0.33, 0.125, 0.05)),
    BENCH: ((0.215, 0.185, 0.155), (0.15, 0.125, 0.10)), INSIDE: ((0.085, 0.05, 0.03), (0.05, 0.03, 0.018)),
    ASH: ((0.50, 0.40, 0.29), (0.36, 0.27, 0.18)),
}  # fmt: skip
_PLAIN = {
    STEEL: (0.38, 0.39, 0.41), BLACK: (0.022, 0.023, 0.026), GLASS: (0.40, 0.46, 0.37), PAPER: (0.76, 0.725, 0.635),
    WALL: (0.19, 0.215, 0.215),
}  # fmt: skip
GLOSS = {PLANKING: 0.10, CHERRY: 0.09, STEEL: 0.75, GLASS: 0.35, BLACK: 0.16, WALE: 0.10, BENCH: 0.03, KEEL: 0.08}


def wood(kind, u, v, seed, *, fine=1.0):
    """Return the colour of wood and its relief: rings drawn out along the grain, streaks and pores."""
    light, dark = (np.array(colour, dtype=np.float32) for colour in _WOODS[kind])
    seed = np.asarray(seed)
    lean = cell(seed * 0 + 3, seed, 11) * 40
    wander = rough(u * 0.018 + lean, v * 0.05 * fine, seed, 2) * 2.6
    rings = v * 1.15 * fine + wander + rough(u * 0.11, v * 0.7 * fine, seed + 7, 2) * 0.35
    band = 0.5 + 0.5 * np.sin(rings * 2.1 + lean)
    streaks = rough(u * 0.10, v * 7.5 * fine, seed + 21, 3)
    streaks = streaks + 0.55 * rough(u * 0.35, v * 26 * fine, seed + 27, 2)
    pores = np.clip(soft(u * 0.55, v * 19 * fine, seed + 33) - 0.40, 0, 1)
    mix = np.clip(0.42 * band**1.6 + 0.30 + 0.30 * streaks + 0.25 * rough(u * 0.03, v * 0.25, seed + 5, 2), 0, 1)
    colour = light + (dark - light) * mix[..., None]
    colour = colour * (1 - 0.62 * pores[..., None])
    # Some boards are paler and some redder than their neighbours.
    tone = (cell(seed, seed * 0 + 1, 17) - 0.5)[..., None] * np.array([0.42, 0.50, 0.56], dtype=np.float32)
    return colour * (1 + tone), pores * -0.5 + streaks * 0.12


def planking(vessel, frame, share):
    """Return the colour and the relief across of the planked side: strakes, seams, butts, nibs and treenails."""
    which, keel, wale = vessel.strake_at(frame, share)
    girth = np.interp(frame, vessel.fine, vessel.girth_mm)
    from_keel, width = (share - keel) * girth, np.maximum((wale - keel) * girth, 0.05)
    piece, butt = _pieces(vessel, which, frame)
    # The grain is counted from the wale side: that seam runs on where a nib is let into the other.
    colour, relief = wood(CHERRY, frame * 13.76, (wale - share) * girth, which * 31 + piece * 7 + 2)
    to_edge = np.abs(np.minimum(from_keel, width - from_keel))
    # A nib shows as a seam across: the strake on its other side is another one.
    across = np.minimum(butt, _nib(vessel, frame, share, which))
    seam = np.exp(-((np.minimum(to_edge, across) / 0.085) ** 2))
    rolled = np.where(from_keel < width / 2, 1.0, -1.0) * np.exp(-((to_edge / 0.22) ** 2))
    colour, nail = _treenails(vessel, colour, frame, share, which)
    # Where the scraper has been the wood is pale and flat, as it was when it was cut.
    waver = vessel.scraped_aft_of + 0.9 * soft(share * 26, frame * 0.2, 9) + 0.3 * soft(share * 90, frame, 10)
    scraped = np.clip((frame - waver) / 0.25, 0, 1)
    colour, rolled = colour * (1 + 0.50 * scraped[..., None]), rolled * (1 - 0.8 * scraped)
    colour = colour * (1 - 0.86 * seam[..., None]) * (1 - 0.10 * np.exp(-to_edge / 0.5))[..., None]
    return colour, relief * (1 - nail), rolled * -0.55


def _pieces(vessel, which, frame):
    piece, butt = np.zeros(which.shape, dtype=np.int64), np.full(which.shape, 9.0)
    for index, strake in enumerate(vessel.planned):
        here = which == index
        for at in strake.butts:
            piece += here & (frame > at)
            butt = np.where(here, np.minimum(butt, np.abs(frame - at) * 13.76), butt)
    return piece, butt


def _nib(vessel, frame, share, which):
    found = np.full(which.shape, 9.0)
    for index, strake in enumerate(vessel.planned):
        if strake.kind == "full":
            continue
        end = strake.spans[0][0]
        past = np.abs(frame - end) * 13.76
        near = (past < 0.5) & (np.abs(which - index) <= 1)
        other = vessel.strake_at(np.where(frame < end, end + 0.03, end - 0.03), share)[0]
        found = np.where(near & (other != which), np.minimum(found, past), found)
    return found


def _treenails(vessel, colour, frame, share, which):
    """Drive two treenails into each timber, where the plank is as wide there as two of them need."""
    nearest = np.round(frame)
    column = ((nearest + 18) * 60).astype(int)
    keel, wale, girth = vessel.edges[which, column], vessel.edges[which + 1, column], vessel.girth_mm[column]
    from_keel, width = (share - keel) * girth, (wale - keel) * girth
    nail = np.zeros(which.shape, dtype=np.float32)
    for lean, part in ((-0.13, 0.27), (0.13, 0.73)):
        away = np.hypot((frame - nearest - lean) * 13.76, from_keel - width * part)
        wide_enough = width > 2.2
        inside = np.clip((0.36 - away) / 0.05, 0, 1) * wide_enough
        ring = np.exp(-(((away - 0.37) / 0.06) ** 2)) * wide_enough
        end_grain = np.array([0.30, 0.125, 0.055]) * (0.9 + 0.5 * cell(nearest, which * 3 + part * 10, 5))[..., None]
        colour = colour * (1 - inside[..., None]) + end_grain * inside[..., None]
        colour = colour * (1 - 0.62 * ring[..., None])
        nail = np.maximum(nail, inside)
    return colour, nail


def plain(stuff, u, v, seed):
    """Return the colour and relief of everything that is not the planked side."""
    if stuff in _WOODS:
        colour, relief = wood(stuff, u, v, seed, fine=0.35 if stuff == BENCH else 1.0)
        if stuff == BENCH:
            scratch = np.clip(soft(u * 0.02 + v * 0.3, v * 0.9 - u * 0.05, 91) - 0.72, 0, 1)
            colour = colour * (1 + 1.2 * scratch[..., None])
        return colour, relief
    colour = np.broadcast_to(np.array(_PLAIN[stuff], dtype=np.float32), (*np.shape(u), 3))
    if stuff == PAPER:
        fibre = rough(u * 2.2, v * 2.2, 61, 3) * 0.03 + rough(u * 0.07, v * 0.07, 62, 2) * 0.03
        return colour * (1 + fibre)[..., None], fibre * 0.4
    if stuff == STEEL:
        brushed = rough(u * 0.25, v * 14, 71, 2)
        return colour * (1 + 0.07 * brushed)[..., None], brushed * 0.10
    return colour * (1 + 0.08 * rough(u * 3, v * 3, 81, 2))[..., None], np.zeros(np.shape(u), dtype=np.float32)
