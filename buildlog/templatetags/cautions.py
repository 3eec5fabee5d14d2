"""The usual cautions, each shown where it belongs until it was read once.

{% load cautions %}
{% caution "glue" %}

They stop nobody, say the usual, and leave the last word to the maker's label, local rules and those licensed
to say more. Figures and their sources: NIOSH Pocket Guide (isopropyl alcohol), OSHA and IARC volumes 62 and
100C (wood dust), CDC/NIOSH PEL documentation 1989 (cyanoacrylate); the rest is common practice, no source.
"""

from dataclasses import dataclass

from django import template
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

register = template.Library()


@dataclass(frozen=True)
class Caution:
    """One caution: what it is about, what to do, and where that is from."""

    key: str
    name: str | Promise
    line: str | Promise
    source: str | Promise = ""


CAUTIONS = (
    Caution("blades", _("Blades and saws"), _(
        "Cut away from the hand that holds, with a sharp blade and a stop behind the work. Unplug a saw before "
        "you touch its blade; follow its maker on guards."
    ), _("Common practice.")),
    Caution("hot tools", _("Hot irons and wet hands"), _(
        "A bending iron burns skin and scorches wood, and stays hot long after it is unplugged. Dry your hands "
        "before you touch a plug. Keep solvents away from it."
    ), _("Common practice; follow the maker's leaflet.")),
    Caution("solvent", _("Alcohol and other solvents"), _(
        "Isopropyl alcohol gives off vapour that burns at room temperature. Open a window, have no flame, spark or "
        "hot iron near, keep the jar closed, and wear the gloves its label names."
    ), _("NIOSH Pocket Guide: flash point 53 °F (12 °C), limit 400 ppm. The label and local rules come first.")),
    Caution("dust", _("Wood dust"), _(
        "Sanding dust harms the nose and lungs, some woods more than others. Catch it where it is made and wear a "
        "mask made for fine dust."
    ), _("IARC volumes 62 (1995) and 100C (2012): wood dust causes cancer in people. NIOSH limit 1 mg/m³.")),
    Caution("glue", _("Instant glue and its vapour"), _(
        "Cyanoacrylate stings eyes and nose, bonds skin at once, and can bring on tightness of the chest hours "
        "later. Have air, keep your face away, never pull bonded skin apart. Breathing trouble is for a doctor."
    ), _("CDC/NIOSH, 1989 documentation: nose and eyes are stung from 3 to 5 ppm. The label comes first.")),
    Caution("oily rags", _("Rags with oil finishes"), _(
        "A wadded rag with linseed or other drying oil heats itself and can catch fire. Spread it flat outdoors to "
        "dry, or do as the tin says."
    ), _("Common practice; follow the tin and local rules.")),
)  # fmt: skip
BY_KEY = {caution.key: caution for caution in CAUTIONS}


@register.simple_tag
def all_cautions():
    return CAUTIONS


@register.inclusion_tag("parts/_caution.html", takes_context=True)
def caution(context, key):
    """Show one caution, unless the account that looks has read it."""
    request = context["request"]
    if not hasattr(request, "cautions_seen"):
        account = request.user
        request.cautions_seen = (
            set(account.cautions_seen.values_list("key", flat=True)) if account.is_authenticated else set(BY_KEY)
        )
    one = None if key in request.cautions_seen else BY_KEY[key]
    return {"caution": one, "back": request.get_full_path(), "csrf_token": context.get("csrf_token")}
