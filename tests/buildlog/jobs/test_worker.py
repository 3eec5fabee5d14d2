"""The queue and its one worker: order, one at a time, killed workers, jobs that fail."""

import itertools
import os
import socket
import threading
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection, connections

from buildlog.actions import jobs
from buildlog.jobs import kinds, worker
from buildlog.models import Job
from buildlog.photos.derive import ChildLost
from buildlog.site.disk import DiskFull

NOW = datetime(2026, 3, 14, 19, 30, tzinfo=UTC)
DONE = []


def note_payload(job, tell):
    tell("half way")
    DONE.append((job.payload, Job.objects.get(pk=job.pk).progress))
    return {"made": 1}


def always_fails(job, tell):
    raise ValueError("the reason")


def disk_is_full(job, tell):
    raise DiskFull


def child_is_lost(job, tell):
    raise ChildLost


def loses_its_claim(job, tell):
    Job.objects.filter(pk=job.pk).update(claimed_by="another")
    tell("still here")


@pytest.fixture(autouse=True)
def works(monkeypatch):
    DONE.clear()
    names = ("note_payload", "always_fails", "disk_is_full", "child_is_lost", "loses_its_claim")
    for name in names:
        monkeypatch.setitem(kinds._WORKS, name, f"{__name__}.{name}")
    monkeypatch.setattr(kinds, "import_module", lambda module: __import__("sys").modules[module])


@pytest.mark.django_db
def test_job_is_done_told_and_its_result_kept(clock):
    job = jobs.queue_job("note_payload", now=clock(), strake=7)

    assert worker.run_pending() == 1

    job.refresh_from_db()
    assert DONE == [({"strake": 7}, "half way")]
    assert (job.state, job.result, job.progress, job.tries) == ("done", {"made": 1}, "", 1)
    assert job.ended_at == clock()


@pytest.mark.django_db
def test_jobs_go_in_order_but_quick_ones_first(clock, monkeypatch):
    monkeypatch.setitem(kinds._WORKS, "photo", f"{__name__}.note_payload")
    for number, kind in enumerate(("note_payload", "photo", "note_payload", "photo")):
        jobs.queue_job(kind, now=clock(), number=number)

    worker.run_pending()

    assert [payload["number"] for payload, _ in DONE] == [1, 3, 0, 2]


@pytest.mark.django_db
def test_only_one_job_is_at_work_over_all_workers():
    jobs.queue_job("note_payload", now=NOW)
    jobs.queue_job("note_payload", now=NOW)

    first = jobs.claim_next("one", now=NOW)

    assert jobs.claim_next("two", now=NOW) is None
    jobs.finish_job(first, {}, now=NOW)
    assert jobs.claim_next("two", now=NOW).pk != first.pk


@pytest.mark.django_db
def test_killed_workers_job_is_taken_up_again_after_its_silence():
    jobs.queue_job("note_payload", now=NOW)
    lost = jobs.claim_next("killed", now=NOW)

    assert jobs.claim_next("next", now=NOW + jobs.SILENT - timedelta(seconds=1)) is None
    taken = jobs.claim_next("next", now=NOW + jobs.SILENT)

    assert (taken.pk, taken.tries) == (lost.pk, 2)


@pytest.mark.django_db
def test_worker_that_tells_keeps_its_job_for_as_long_as_it_takes():
    jobs.queue_job("note_payload", now=NOW)
    job = jobs.claim_next("slow", now=NOW)
    jobs.tell_progress(job, "a third", now=NOW + timedelta(minutes=3))

    assert jobs.claim_next("next", now=NOW + timedelta(minutes=6)) is None


@pytest.mark.django_db
@pytest.mark.parametrize("deed", ["tell", "finish", "fail"])
def test_worker_that_lost_its_job_can_write_nothing_more(deed):
    jobs.queue_job("note_payload", now=NOW)
    slow = jobs.claim_next("slow", now=NOW)
    jobs.claim_next("next", now=NOW + jobs.SILENT)
    deeds = {
        "tell": lambda: jobs.tell_progress(slow, "here", now=NOW),
        "finish": lambda: jobs.finish_job(slow, {"wrong": 1}, now=NOW),
        "fail": lambda: jobs.fail_job(slow, "no", now=NOW),
    }

    with pytest.raises(jobs.ClaimLost):
        deeds[deed]()

    assert list(Job.objects.values_list("state", "claimed_by", "result")) == [("running", "next", {})]


@pytest.mark.django_db
def test_worker_goes_on_after_a_job_it_lost(clock):
    jobs.queue_job("loses_its_claim", now=clock())

    assert worker.run_pending() == 1
    assert Job.objects.get().claimed_by == "another"


@pytest.mark.django_db
def test_job_that_fails_is_tried_after_longer_and_longer_pauses_and_then_given_up(clock):
    jobs.queue_job("always_fails", now=clock())
    tried = []

    for _second in range(0, 3000, 15):
        if worker.run_pending():
            tried.append(clock().timestamp())
        clock.forward(seconds=15)

    assert [round(b - a) for a, b in itertools.pairwise(tried)] == [15, 60, 240, 960]
    job = Job.objects.get()
    assert (job.state, job.progress) == ("failed", "This work was tried 5 times and given up.")


@pytest.mark.django_db
def test_full_disk_does_not_use_up_the_tries(clock):
    jobs.queue_job("disk_is_full", now=clock())

    for _minute in range(60):
        worker.run_pending()
        clock.forward(minutes=1)

    assert Job.objects.get().state == "queued"


@pytest.mark.django_db
def test_lost_child_is_tried_again(clock):
    jobs.queue_job("child_is_lost", now=clock())

    worker.run_pending()

    assert list(Job.objects.values_list("state", "tries")) == [("queued", 1)]


@pytest.mark.django_db
def test_failing_job_does_not_hold_up_the_others(clock):
    jobs.queue_job("always_fails", now=clock())
    jobs.queue_job("note_payload", now=clock())

    assert worker.run_pending() == 2
    assert len(DONE) == 1


@pytest.mark.django_db
def test_regular_job_is_queued_once_a_day():
    day = timedelta(days=1)

    made = [
        jobs.queue_regular_job("sweep", day, now=NOW + hours * timedelta(hours=1)) for hours in (0, 1, 23, 25)
    ]

    assert [job is not None for job in made] == [True, False, False, True]


@pytest.mark.django_db
def test_old_jobs_are_forgotten_and_waiting_ones_kept():
    for state, ended in (
        ("done", NOW),
        ("failed", NOW),
        ("done", NOW + timedelta(days=10)),
        ("queued", None),
    ):
        Job.objects.create(kind="note_payload", state=state, made_at=NOW, ended_at=ended)

    jobs.forget_old_jobs(now=NOW + timedelta(days=jobs.KEPT_DAYS + 1))

    assert list(Job.objects.values_list("state", flat=True)) == ["done", "queued"]


@pytest.mark.django_db
def test_job_of_a_dead_process_of_this_machine_is_free_at_once():
    jobs.queue_job("note_payload", now=NOW)
    dead = dead_pid()
    jobs.claim_next(f"{socket.gethostname()[:40]}:{dead}:abc", now=NOW)
    own = worker._own_name()

    freed = jobs.let_go_of_dead_claims(lambda name: worker._is_dead(name, own), now=NOW)

    assert freed == 1
    assert jobs.claim_next(own, now=NOW) is not None


def dead_pid():
    child = os.fork()
    if child == 0:
        os._exit(0)
    os.waitpid(child, 0)
    return child


@pytest.mark.parametrize(
    ("name", "dead"),
    [
        ("here:1:mark", False),
        ("here:{own}:other", True),
        ("here:{own}:mark", False),
        ("elsewhere:{gone}:mark", False),
        ("here:{gone}:mark", True),
        ("", False),
        ("odd", False),
    ],
)
def test_which_worker_is_known_to_be_gone(name, dead):
    filled = name.format(own=os.getpid(), gone=dead_pid())

    assert worker._is_dead(filled, f"here:{os.getpid()}:mark") is dead


@pytest.mark.django_db(transaction=True)
def test_twelve_workers_claiming_at_once_never_share_a_job():
    for number in range(24):
        jobs.queue_job("note_payload", now=NOW, number=number)
    claimed, at_work, most = [], [], []
    lock = threading.Lock()

    def work(name):
        try:
            for _ in range(30):
                job = jobs.claim_next(name, now=NOW)
                if job is None:
                    continue
                with lock:
                    at_work.append(job.pk)
                    most.append(len(at_work))
                    claimed.append(job.pk)
                with lock:
                    at_work.remove(job.pk)
                jobs.finish_job(job, {}, now=NOW)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=work, args=(f"worker {n}",)) for n in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(claimed) == len(set(claimed)) > 0
    assert max(most) == 1
    assert Job.objects.filter(state="done").count() == len(claimed)


@pytest.mark.django_db(transaction=True)
def test_run_forever_works_until_it_is_stopped(clock, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    stop = threading.Event()
    jobs.queue_job("note_payload", now=clock(), number=1)

    def run():
        try:
            worker.run_forever(stop)
        finally:
            connections.close_all()

    thread = threading.Thread(target=run)
    thread.start()
    deadline = threading.Event()
    for _ in range(100):
        if Job.objects.filter(kind="note_payload", state="done").exists():
            break
        deadline.wait(0.1)
    stop.set()
    worker.bell.set()
    thread.join(timeout=10)

    assert not thread.is_alive()
    assert Job.objects.get(kind="note_payload").state == "done"
    assert connection.vendor in ("sqlite", "postgresql")
