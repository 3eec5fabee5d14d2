"""Phones at the bench: each posts one thing after another, and the same thing again until it is
acknowledged.
"""

import hashlib
import http.client
import io
import json
import random
import secrets
import threading
import time
import uuid
from collections import Counter
from dataclasses import dataclass, field
from urllib.parse import urlencode

from PIL import Image

from tests.endurance.server import Log

EVERY_SO_MANY_A_PHOTO = 3
WAIT_SECONDS = 20


@dataclass
class Acknowledged:
    """What the server has said that it keeps, by the name the phone gave it."""

    readings: dict[str, tuple[str, str]] = field(default_factory=dict)
    photos: dict[str, tuple[str, str]] = field(default_factory=dict)
    answers: Counter = field(default_factory=Counter)
    sent_again: int = 0
    kept_before: int = 0
    two_names: list = field(default_factory=list)
    odd: list = field(default_factory=list)

    @property
    def count(self) -> int:
        return len(self.readings) + len(self.photos)


class Writer(threading.Thread):
    """One phone."""

    def __init__(self, log: Log, number: int, port: int, stop: threading.Event, seed: int, deaf=None):
        super().__init__(daemon=True)
        self.log, self.number, self.port, self.stop = log, number, port, stop
        self.chance = random.Random(seed * 1000 + number)
        self.said = Acknowledged()
        # While this is set, answers are not believed: the power has gone and the server does not know it yet.
        self.deaf = deaf or threading.Event()
        self.secret = secrets.token_hex(16)
        self._connection: http.client.HTTPConnection | None = None

    def run(self) -> None:
        turn = 0
        try:
            while not self.stop.is_set():
                turn += 1
                self._post_photo() if turn % EVERY_SO_MANY_A_PHOTO == 0 else self._post_widths()
        finally:
            self._hang_up()

    def _post_widths(self) -> None:
        strake = self.chance.choice(self.log.strakes)
        figures = {position: f"{self.chance.randint(495, 505) / 100:.2f}" for position in self.log.positions}
        names = {position: str(uuid.uuid4()) for position in figures}
        form = {"damp": "dry", "stage": "cut"}
        for position, figure in figures.items():
            form |= {f"at{position}": figure, f"at{position}-uuid": names[position]}
        path = f"/builds/{self.log.build}/strakes/{strake}/widths/"
        answer = self._until_answered(path, urlencode(form).encode(), "application/x-www-form-urlencoded")
        if answer:
            typed = {names[position]: figure for position, figure in figures.items()}
            for each in answer["readings"]:
                self._keep(self.said.readings, each, typed[each["client_uuid"]])

    def _post_photo(self) -> None:
        content = self._picture()
        batch = str(uuid.uuid4())
        body, kind = _multipart({"batch": batch, "caption": "At the bench"}, content)
        answer = self._until_answered(f"/builds/{self.log.build}/photo-note/", body, kind)
        if answer:
            for each in answer["photos"]:
                self._keep(self.said.photos, each, hashlib.sha256(content).hexdigest())

    def _picture(self) -> bytes:
        size = self.chance.choice(((640, 480), (1600, 1200), (2400, 1800)))
        out = io.BytesIO()
        noise = Image.frombytes("RGB", (80, 60), self.chance.randbytes(80 * 60 * 3)).resize(size)
        noise.save(out, "JPEG", quality=90)
        return out.getvalue()

    def _keep(self, kept: dict, each: dict, content: str) -> None:
        name, row = each["client_uuid"], each["uuid"]
        if name in kept and kept[name][0] != row:
            self.said.two_names.append(name)
        kept[name] = (row, content)
        if not each["created"]:
            self.said.kept_before += 1

    def _until_answered(self, path: str, body: bytes, kind: str) -> dict | None:
        """Post until the server says that it is kept, as the waiting list of a phone does."""
        tries = 0
        while not self.stop.is_set():
            tries += 1
            try:
                status, told = self._post(path, body, kind)
            except (OSError, http.client.HTTPException):
                self._hang_up()
                time.sleep(self.chance.uniform(0.05, 0.3))
                continue
            if self.deaf.is_set():
                time.sleep(0.05)
                continue
            self.said.answers[status] += 1
            if status in (200, 201):
                self.said.sent_again += tries > 1
                return json.loads(told)
            if status < 500:
                self.said.odd.append((status, told[:300].decode("utf-8", "replace")))
                return None
            time.sleep(0.2)
        return None

    def _post(self, path: str, body: bytes, kind: str) -> tuple[int, bytes]:
        if self._connection is None:
            self._connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=WAIT_SECONDS)
        session = self.log.cookies[self.number % len(self.log.cookies)]
        cookies = f"{self.log.session_cookie}={session}; {self.log.csrf_cookie}={self.secret}"
        headers = {
            "Content-Type": kind,
            "Accept": "application/json",
            "Cookie": cookies,
            "X-CSRFToken": self.secret,
        }
        self._connection.request("POST", path, body, headers)
        answer = self._connection.getresponse()
        return answer.status, answer.read()

    def _hang_up(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None


def _multipart(fields: dict[str, str], content: bytes) -> tuple[bytes, str]:
    mark = secrets.token_hex(16)
    parts = [
        f'--{mark}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in fields.items()
    ]
    head = f'--{mark}\r\nContent-Disposition: form-data; name="photos"; filename="bench.jpg"\r\n'
    parts.append(head.encode() + b"Content-Type: image/jpeg\r\n\r\n" + content + b"\r\n")
    return b"".join(parts) + f"--{mark}--\r\n".encode(), f"multipart/form-data; boundary={mark}"
