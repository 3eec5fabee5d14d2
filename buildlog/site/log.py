"""The log: one JSON object a line, UTC, with the request's id; never a token, cookie, password or body."""

import json
import logging
import logging.handlers
import re
import traceback
from contextvars import ContextVar
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

request_id: ContextVar[str] = ContextVar("request_id", default="")

# Whatever stands after these folders opens something to whoever holds it.
_AFTER_A_DOOR = re.compile(r"(/(?:club|once|invite|card|sign-in|start|reset)/)[^/\s\"'<>?]+")
# Anything else that is long enough to be a secret and holds a capital or a figure, as every random text of
# that length does. Uuids name rows and open nothing, so they stay readable.
_LONG = re.compile(
    r"(?<![\w-])(?=[a-z_-]*[A-Z0-9])(?:(?<!/)[A-Za-z0-9_-]{32,}|(?<=/)[A-Za-z0-9_-]{22,})(?![\w-])"
)
_UUID = re.compile(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
_SECRET_FIELD = re.compile(
    r"(?i)\b((?:session|sessionid|csrf|csrftoken|csrfmiddlewaretoken|password\w*|token|key|secret|cookie)"
    r"['\"]?\s*[=:]\s*)(['\"]?)[^\s'\",;&]+"
)
MASK = "***"
KEPT_FILES = 5
BYTES_A_FILE = 5_000_000


def masked(text: str) -> str:
    """Return a text with every share token, session key and password in it masked."""
    text = _AFTER_A_DOOR.sub(rf"\1{MASK}", text)
    text = _SECRET_FIELD.sub(rf"\1\2{MASK}", text)
    return _LONG.sub(lambda found: found[0] if _UUID.fullmatch(found[0]) else MASK, text)


class JsonLines(logging.Formatter):
    """Lay a record down as one line; JSON escapes CR and LF, so no input can forge a second one."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "says": masked(record.getMessage()),
        }
        if request := request_id.get():
            line["request"] = request
        line |= {name: _plain(value) for name, value in getattr(record, "facts", {}).items()}
        if record.exc_info and record.exc_info[0]:
            line["trace"] = masked("".join(traceback.format_exception(*record.exc_info)))
        return json.dumps(line, ensure_ascii=True, default=str)


def _plain(value: Any) -> Any:
    return masked(value) if isinstance(value, str) else value


class LogFile(logging.handlers.RotatingFileHandler):
    """A file that is opened at its first line; when the disk is full the page goes on without the line."""

    def __init__(self, filename: str) -> None:
        super().__init__(
            filename, maxBytes=BYTES_A_FILE, backupCount=KEPT_FILES, encoding="ascii", delay=True
        )

    def _open(self) -> Any:
        Path(self.baseFilename).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        return super()._open()

    def handleError(self, record: logging.LogRecord) -> None:
        """Say nothing: the same line went to standard error, and a full disk is told by `doctor`."""


def note(says: str, /, level: int = logging.INFO, **facts: Any) -> None:
    """Write down something that happened: a sign-in, a denial, a link made or revoked, an upload refused."""
    logging.getLogger("buildlog").log(level, says, extra={"facts": facts})


def configuration(folder: Path) -> dict[str, Any]:
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json_lines": {"()": JsonLines}},
        "handlers": {
            "stderr": {"class": "logging.StreamHandler", "formatter": "json_lines", "level": "WARNING"},
            "file": {"()": LogFile, "filename": str(folder / "reckoner.log"), "formatter": "json_lines"},
        },
        "root": {"handlers": ["stderr", "file"], "level": "WARNING"},
        "loggers": {
            "buildlog": {"level": "INFO"},
            # Django's own handlers would write the same thing once more, in another shape.
            "django": {"level": "WARNING", "handlers": [], "propagate": True},
            # Every refused page is in the log already, as a request with its status.
            "django.request": {"level": "ERROR", "propagate": True},
            "django.security.csrf": {"level": "ERROR", "propagate": True},
            "django.security.DisallowedHost": {"level": "CRITICAL", "propagate": True},
            "django.server": {"level": "WARNING", "handlers": [], "propagate": True},
        },
    }
