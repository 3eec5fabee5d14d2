"""Make the renditions of one photograph that was received."""

from buildlog.actions.photo_edits import undo_edits
from buildlog.actions.photos import make_ready, refuse_photo
from buildlog.models import Photo
from buildlog.photos import store
from buildlog.photos.derive import ChildLost, MachineInTheWay, derive
from buildlog.photos.refusals import PhotoRefused
from buildlog.site import clock


def make_renditions(job, tell) -> dict:
    photo = Photo.objects.filter(uuid=job.payload["photo"]).first()
    if photo is None or photo.state == Photo.State.REFUSED:
        return {"state": "gone"}
    try:
        return _made(photo)
    except OSError as trouble:
        # The disk or the system was in the way on this side of the child.
        raise MachineInTheWay(str(trouble)) from trouble


def _made(photo) -> dict:
    with store.scratch_folder() as folder:
        try:
            made = derive(store.path_of(store.key_of(photo.sha256)), folder, photo.file_name, photo.edits)
        except PhotoRefused as refusal:
            if photo.edits:
                # It was whole before it was cut, so the picture is not to blame: it goes back to as it was sent.
                undo_edits(photo, person=None, now=clock.now())
                return {"state": "as it was", "reason": refusal.reason}
            if photo.renditions.exists():
                # It was opened before, and nobody has touched it since: the machine is to blame.
                raise ChildLost(f"{photo.uuid} was ready once, and now: {refusal.reason}") from None
            refuse_photo(photo, refusal.sentence, now=clock.now())
            return {"state": "refused", "reason": refusal.reason}
        kept = [(each, _kept(each.path)) for each in made]
    make_ready(photo, kept)
    return {"state": "ready"}


def _kept(path) -> store.Kept:
    with path.open("rb") as file:
        return store.store(file, store.RENDITIONS)
