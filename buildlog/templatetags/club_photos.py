"""Where a photograph of the club page comes from: the link's own address, or the file itself."""

from django import template
from django.urls import reverse

register = template.Library()


@register.simple_tag(takes_context=True)
def club_photo_source(context, photo):
    """Return the address of a shared photograph, or its picture as data where the page is one file."""
    pictures = context.get("pictures")
    if pictures is not None:
        return pictures.get(photo.pk, "")
    return reverse("club-photo", args=[context["token"], photo.uuid, "middle"])
