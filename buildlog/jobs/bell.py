"""Rung when a job was queued in this process, so that its worker does not wait for the next look."""

import threading

bell = threading.Event()
