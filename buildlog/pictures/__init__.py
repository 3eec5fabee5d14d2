"""Pictures of the hull, drawn on the server as SVG with classes and no style attributes.

Every picture is a pure function of frozen dataclasses; it returns a Picture, whose `svg` is escaped and ready
for a template and whose `summary` is the sentence read aloud in its place. See drawing.py for the sheet that
all of them are drawn on, and static/css/reckoner.css for the classes.
"""
