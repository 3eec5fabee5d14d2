"""A QR code as one path, dark cells on the card's own paper, with the quiet zone that readers need."""

import segno
from django.utils.html import format_html

QUIET_CELLS = 4


def qr_code(text, summary):
    """Return a QR code of a text as SVG; error level M stands a smear of glue on a bench."""
    cells = [bytes(row) for row in segno.make(text, error="m", micro=False).matrix]
    side = len(cells) + 2 * QUIET_CELLS
    path = "".join(
        f"M{x + QUIET_CELLS} {y + QUIET_CELLS}h1v1h-1z"
        for y, row in enumerate(cells)
        for x, dark in enumerate(row)
        if dark
    )
    return format_html(
        '<svg class="qr" viewBox="0 0 {0} {0}" role="img" aria-label="{1}" shape-rendering="crispEdges">'
        '<rect class="qr-paper" width="{0}" height="{0}"/><path class="qr-cells" d="{2}"/></svg>',
        side, summary, path,
    )  # fmt: skip
