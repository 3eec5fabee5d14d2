"""The trade's words, one line each, as a builder would say them: common practice, no source."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Word:
    """A trade word and its line; `key` is what templates ask for."""

    key: str
    name: str | Promise
    line: str | Promise


_LINES = (
    Word("after hood end", _("after hood end"), _("Where a strake ends at the sternpost.")),
    Word("anchor stock", _("anchor stock"), _(
        "Planks shaped to lock into each other, mostly in wales. Also top and butt."
    )),
    Word("backing out", _("backing out"), _(
        "Hollowing the inner face of a plank so that it sits on a round frame."
    )),
    Word("batten", _("batten"), _("A thin straight strip bent round the hull to find a fair line.")),
    Word("belt", _("belt"), _("A group of neighbouring strakes planned together. Also band.")),
    Word("bevel", _("bevel"), _("An edge planed to an angle so that the seam closes.")),
    Word("bilge", _("bilge"), _("The turn of the hull between its bottom and its side.")),
    Word("bluff", _("bluff"), _("Very round, as a bow may be.")),
    Word("body plan", _("body plan"), _("The drawing of the hull's cross-sections.")),
    Word("butt", _("butt"), _("The square joint where two planks of one strake meet end to end.")),
    Word("check words", _("check words"), _(
        "Two words that stand on a cut card and on the page: where they differ, the card is old."
    )),
    Word("closing strake", _("closing strake"), _(
        "The last strake in, between the two runs, made to the gap that is left. Also shutter."
    )),
    Word("cut card", _("cut card"), _("One sheet with the widths of one strake, to take to the bench.")),
    Word("datum edge", _("datum edge"), _("The edge of a plank that all its widths are measured from.")),
    Word("dead flat", _("dead flat"), _("The widest frame of the hull, marked with a crossed ring.")),
    Word("diminishing strakes", _("diminishing strakes"), _(
        "The strakes next to the wale, each a little thinner than the one before."
    )),
    Word("dividers", _("dividers"), _(
        "Two points on a hinge, for carrying a length from one place to another."
    )),
    Word("drift", _("drift"), _("Small differences from the plan that add up, strake after strake.")),
    Word("drop strake", _("drop strake"), _(
        "A strake that stops before the end, so that its neighbours keep their width."
    )),
    Word("edge bend", _("edge bend"), _(
        "Bending a plank sideways, in its own plane. Thin wood does it a little; wide wood hardly. "
        "Also edge set."
    )),
    Word("fair", _("fair"), _("Without bumps or hollows; pleasing to the eye along its whole length.")),
    Word("fore hood end", _("fore hood end"), _("Where a strake ends at the stem.")),
    Word("full size", _("full size"), _("Measured on the real vessel, not on the model.")),
    Word("gap", _("gap"), _("What is still open between the two runs, measured along the frame.")),
    Word("garboard", _("garboard"), _("The strake next to the keel.")),
    Word("girth", _("girth"), _("The distance along the surface of the hull, as a paper strip lies on it.")),
    Word("habit", _("habit"), _("How much your planks come out wide or narrow, time after time.")),
    Word("hang", _("hang"), _("To fit a plank to the hull and fix it there.")),
    Word("hood", _("hood"), _("The end of a plank that goes into the rabbet.")),
    Word("hook scarph", _("hook scarph"), _("A long joint whose halves lock into each other.")),
    Word("joggle", _("joggle"), _("A notch cut in one plank to take the blunt end of another.")),
    Word("joint plan", _("joint plan"), _("Where the butts of all strakes are to fall.")),
    Word("leave the line", _("leave the line"), _(
        "To cut outside the pencil line, so that the line stays. Splitting it cuts through the "
        "middle; taking it cuts inside."
    )),
    Word("lining off", _("lining off"), _("Dividing the bare hull into strakes.")),
    Word("nib", _("nib"), _("A blunt end left on a plank in place of a point too sharp to hold.")),
    Word("opening", _("opening"), _("The stretch of hull to be planked, from one fixed line to the other.")),
    Word("paper strip", _("paper strip"), _(
        "A strip laid across a gap or round a frame and ticked at both edges. Also tick strip."
    )),
    Word("piece", _("piece"), _("Wood marked out for a plank, not yet one.")),
    Word("proportional dividers", _("proportional dividers"), _(
        "Dividers with two pairs of points, one pair a fixed multiple of the other."
    )),
    Word("rabbet", _("rabbet"), _(
        "The groove along keel, stem and sternpost that takes the edge or the end of a plank."
    )),
    Word("recut", _("recut"), _("New planned widths for the strakes not yet cut.")),
    Word("revision", _("revision"), _("A dated version of the plan. Only one is in force.")),
    Word("room and space", _("room and space"), _(
        "The distance from one frame to the same place on the next."
    )),
    Word("run", _("run"), _(
        "Planks hung one after another from a fixed line: the run from the wale, the run from the "
        "keel. In drawings, the run alone is the after body under water."
    )),
    Word("scarph", _("scarph"), _("A long sloping joint.")),
    Word("seam", _("seam"), _("The line between two strakes, and the glue in it.")),
    Word("sheer", _("sheer"), _("The upper line of the hull's side, from bow to stern.")),
    Word("shift of butts", _("shift of butts"), _("How the joints of neighbouring strakes are staggered.")),
    Word("shutter", _("shutter"), _("Another word for the closing strake.")),
    Word("sny", _("sny"), _("The curve a plank's edge needs near a full bow or quarter.")),
    Word("spiling", _("spiling"), _(
        "Taking the shape of a plank's edge off the hull with a thin board and dividers."
    )),
    Word("station", _("station"), _("A frame where widths and gaps are measured.")),
    Word("stealer", _("stealer"), _(
        "A short plank let in where the hull grows wider than its strakes should."
    )),
    Word("stock", _("stock"), _("The wood in hand.")),
    Word("strake", _("strake"), _("One line of planks from bow to stern.")),
    Word("taper", _("taper"), _("Growing narrower towards an end.")),
    Word("treenail", _("treenail"), _("A wooden peg that fastens a plank.")),
    Word("tuck", _("tuck"), _("Where the planking turns in under the stern.")),
    Word("wale", _("wale"), _(
        "The thick band of planking along the side that the run from the wale starts at."
    )),
    Word("wood lot", _("wood lot"), _("Boards bought together, likely to behave alike.")),
    Word("zero check", _("zero check"), _(
        "Reading a caliper with its jaws shut, to see how far from nought it starts."
    )),
)  # fmt: skip

WORDS = {word.key: word for word in _LINES}
