"""Places on a photograph: in shares of the upright original, and in shares of what is shown after crop and turn."""

WHOLE = (0.0, 0.0, 1.0, 1.0)


def crop_of(edits: dict) -> tuple[float, float, float, float]:
    """Return left, top, right, bottom of what is shown, in shares of the upright original."""
    return tuple(edits.get("crop") or WHOLE)


def shown_place(edits: dict, x: float, y: float) -> tuple[float, float]:
    """Return where a place of the original stands in what is shown; outside 0 to 1 it was cut off."""
    left, top, right, bottom = crop_of(edits)
    u, v = (x - left) / (right - left), (y - top) / (bottom - top)
    for _quarter in range(edits.get("turn", 0) // 90):
        u, v = 1 - v, u
    return u, v


def original_place(edits: dict, u: float, v: float) -> tuple[float, float]:
    """Return the place of the original that stands at a place of what is shown."""
    for _quarter in range(edits.get("turn", 0) // 90):
        u, v = v, 1 - u
    left, top, right, bottom = crop_of(edits)
    return left + u * (right - left), top + v * (bottom - top)


def shown_marks(edits: dict, drawn: list) -> list[dict]:
    """Return the marks with their places in what is shown; a mark whose point was cut off is left out."""
    shown = []
    for mark in drawn:
        if "to_x" not in mark:
            # A line of the legend that points at nothing.
            shown.append(mark)
            continue
        to_x, to_y = shown_place(edits, mark["to_x"], mark["to_y"])
        x, y = shown_place(edits, mark["x"], mark["y"])
        if 0 <= to_x <= 1 and 0 <= to_y <= 1:
            x, y = (min(1.0, max(0.0, value)) for value in (x, y))
            shown.append({**mark, "x": x, "y": y, "to_x": to_x, "to_y": to_y})
    return shown
