"""Series of photographs from one place, each in the order they were taken."""

from dataclasses import dataclass, field

from buildlog.models import Photo, PhotoSeries


@dataclass
class SeriesStory:
    """A series with its photographs that may be shown, oldest first."""

    series: PhotoSeries
    photos: list = field(default_factory=list)

    @property
    def last(self):
        return self.photos[-1] if self.photos else None


def stories_of_series(build) -> list[SeriesStory]:
    stories = {series.pk: SeriesStory(series) for series in build.photo_series.order_by("name")}
    photos = Photo.objects.filter(series__in=stories, taken_out_at__isnull=True, state=Photo.State.READY)
    for photo in photos.order_by("taken_local", "received_at", "pk"):
        stories[photo.series_id].photos.append(photo)
    return list(stories.values())


def photos_of_series(series) -> list[Photo]:
    """Return what may be shown of a series, oldest first."""
    photos = series.photos.filter(taken_out_at__isnull=True, state=Photo.State.READY).select_related("session")
    return list(photos.order_by("taken_local", "received_at", "pk"))
