"""A QR code as one path, dark on light in every theme, so that any phone reads it."""

from .drawing import Drawing

QUIET = 4  # Modules of clear ground all round, as ISO/IEC 18004 asks.


def qr(text, *, summary, key="qr", level="q"):
    """Return the code of a text (most often a link); CSS gives it its size."""
    # Imported here: only the pages that show a code pay for it.
    import segno

    try:
        code = segno.make(text, error=level, micro=False)
    except ValueError as reason:
        raise ValueError("This text is too long for a QR code.") from reason
    rows = [bytes(row) for row in code.matrix]
    side = len(rows) + 2 * QUIET
    drawing = Drawing(side, key)
    drawing.rect("p-qr-ground", 0, 0, side, side)
    drawing.path("p-qr", "".join(_runs(rows)))
    return drawing.picture(side, summary, classes="p-qr-sheet", sized=False)


def _runs(rows):
    """Return one flat piece of path for each run of dark modules."""
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            length = 0
            while x + length < len(row) and row[x + length]:
                length += 1
            if length:
                yield f"M{x + QUIET} {y + QUIET}h{length}v1h-{length}z"
            x += length or 1
