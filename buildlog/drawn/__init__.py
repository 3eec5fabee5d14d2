"""From rows and reviews to what the pictures are told: one file a picture. Views call this room; it reads
only.
"""
