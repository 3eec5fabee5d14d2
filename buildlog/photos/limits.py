"""The caps of the photograph intake: pixels, not bytes, decide what a decoder needs in memory."""

MEGABYTE = 1024 * 1024
MEGAPIXEL = 1_000_000

LARGEST_FILE = 40 * MEGABYTE
LONGEST_SIDE = 16_384

# A WebP picture takes up to nine times the memory of a JPEG of the same size, so its cap is lower.
MOST_PIXELS = {
    "JPEG": 64 * MEGAPIXEL,
    "PNG": 64 * MEGAPIXEL,
    "HEIF": 50 * MEGAPIXEL,
    "WEBP": 24 * MEGAPIXEL,
}

MOST_METADATA = 8 * MEGABYTE
MOST_METADATA_PIECES = 400
MOST_PIECES = 60_000
MOST_ICC = 4 * MEGABYTE

# What the decoding child may use. The wall clock is longer than the processor time because the machine may
# be busy.
CHILD_MEMORY = 768 * MEGABYTE
CHILD_CPU_SECONDS = 30
CHILD_WALL_SECONDS = 90
# How far the child stands back where there are too few processors for all (Unix niceness).
BEHIND_THE_PAGES = 10

# Long edges of the three renditions, largest first, each made from the one before.
RENDITION_SIZES = {"large": 1920, "middle": 960, "small": 320}
RENDITION_QUALITY = 84
