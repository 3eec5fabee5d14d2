"""Malformed requests, made anew from a seed: raw bytes as a broken or hostile caller would send them.

They are sent to the application as a server hands them on: path and query as latin-1 text in the environment,
the body as a stream. The same seed gives the same requests.
"""

import io
import random
from collections.abc import Iterator
from urllib.parse import quote_from_bytes

ODD_BYTES = [
    b"\x00",
    b"\xff\xfe",
    b"\xed\xa0\x80",
    b"\xc0\xaf",
    b"\xf5\x80\x80\x80",
    b"%",
    b"%zz",
    b"%00",
    b"%ff",
    b"\r\nX: y",
    b"\xe2\x80\xae",
    b"\xf0\x9f\x9b\xb6",
    b"../" * 12,
    b"..%2f..%2f",
    b"\\..\\",
    b";/",
    b"//",
    b"'\"<script>",
    b"{{7*7}}",
    b"A" * 9000,
    "½".encode(),
    "٣".encode(),
    "ａ".encode(),
    b"\x7f",
    b"~" * 300,
]
PATHS = [
    b"/",
    b"/public/",
    b"/look-up/",
    b"/write/",
    b"/sign-in/",
    b"/club/",
    b"/healthz",
    b"/once/x/",
    b"/nowhere/",
]
METHODS = ["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "BREW", "get", "X" * 50]
TYPES = [
    "",
    "application/x-www-form-urlencoded",
    "application/x-www-form-urlencoded; charset=utf-16",
    "application/x-www-form-urlencoded; charset=nonsense",
    "multipart/form-data",
    "multipart/form-data; boundary=",
    "multipart/form-data; boundary=x",
    'multipart/form-data; boundary="x\xff"',
    "multipart/form-data; boundary=" + "b" * 999,
    "application/json",
    "text/plain; charset=\x00",
    "multipart/mixed; boundary=x",
    "a" * 4000,
    ";;;=",
]
LENGTHS = ["", "0", "5", "-1", "1e3", "99999999999999999999999", "٣", "0x10", " 7 ", "43000000", "+5"]
COOKIES = [
    "",
    "session=",
    'session="\\000aaaaaaaa"',
    "session=" + "k" * 5000,
    "session=abcdefghijklmnopqrstuvwxyz012345",
    "csrf=\xff\xfe",
    "device=x:y:z",
    "device=" + "e30:" * 40,
    "=;=;=",
    "a=b; " * 400,
    'session="\\777"',
    "messages=x",
]
HEADERS = [
    {},
    {"HTTP_HOST": "a b"},
    {"HTTP_HOST": "testserver:port"},
    {"HTTP_HOST": "["},
    {"HTTP_HOST": "x" * 3000},
    {"HTTP_X_FORWARDED_FOR": "\xff, 1.2.3.4,,"},
    {"HTTP_X_FORWARDED_PROTO": "https"},
    {"HTTP_X_FORWARDED_HOST": "evil"},
    {"HTTP_HX_REQUEST": "true", "HTTP_HX_CURRENT_URL": "http://[bad"},
    {"HTTP_HX_REQUEST": "maybe"},
    {"HTTP_HX_CURRENT_URL": "%ff", "HTTP_HX_CURRENT_URL_URI_AUTOENCODED": "true", "HTTP_HX_REQUEST": "true"},
    {"HTTP_ACCEPT": "application/json"},
    {"HTTP_ACCEPT": "\xff;q=nan"},
    {"HTTP_ACCEPT_LANGUAGE": "x;q=" + "9" * 500},
    {"HTTP_IF_MODIFIED_SINCE": "31 Feb 99999"},
    {"HTTP_RANGE": "bytes=9-1"},
    {"HTTP_ORIGIN": "null"},
    {"HTTP_REFERER": "http://[::1"},
    {"HTTP_TRANSFER_ENCODING": "chunked"},
    {"HTTP_EXPECT": "200-perhaps"},
    {"HTTP_ACCEPT_ENCODING": "gzip;q=x"},
    {"REMOTE_ADDR": ""},
    {"REMOTE_ADDR": "not an address"},
]


def odd_requests(seed: int, count: int) -> Iterator[dict]:
    """Yield the environments of `count` requests, each odd in one to three places."""
    dice = random.Random(seed)
    for _ in range(count):
        yield _odd_request(dice)


def _odd_request(dice: random.Random) -> dict:
    path, query, body = dice.choice(PATHS), b"name=anna", b"name=anna"
    environ = {
        "REQUEST_METHOD": dice.choice(METHODS[:3]),
        "SERVER_NAME": "testserver",
        "SERVER_PORT": "80",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "REMOTE_ADDR": "127.0.0.1",
        "CONTENT_TYPE": TYPES[1],
        "wsgi.url_scheme": "http",
        "wsgi.errors": io.StringIO(),
        "wsgi.version": (1, 0),
    }
    for part in dice.sample(
        ["path", "query", "body", "type", "length", "cookie", "header", "method"], dice.randint(1, 3)
    ):
        odd = b"".join(dice.choices(ODD_BYTES, k=dice.randint(1, 3)))
        if part == "path":
            path = path + odd
        elif part == "query":
            query = dice.choice(
                [odd, b"name=" + odd, b"name=" + quote_from_bytes(odd).encode(), b"&".join([odd] * 50)]
            )
        elif part == "body":
            body = _odd_body(dice, odd)
        elif part == "type":
            environ["CONTENT_TYPE"] = dice.choice(TYPES)
        elif part == "length":
            environ["CONTENT_LENGTH"] = dice.choice(LENGTHS)
        elif part == "cookie":
            environ["HTTP_COOKIE"] = dice.choice(COOKIES)
        elif part == "header":
            environ.update(dice.choice(HEADERS))
        else:
            environ["REQUEST_METHOD"] = dice.choice(METHODS)
    environ.setdefault("CONTENT_LENGTH", str(len(body)))
    environ["PATH_INFO"] = path.decode("latin-1")
    environ["QUERY_STRING"] = query.decode("latin-1")
    environ["wsgi.input"] = io.BytesIO(body)
    return environ


def _odd_body(dice: random.Random, odd: bytes) -> bytes:
    part = b'--x\r\nContent-Disposition: form-data; name="name"\r\n\r\n' + odd + b"\r\n"
    file = b'--x\r\nContent-Disposition: form-data; name="f"; filename="' + odd[:200] + b'"\r\n\r\nabc\r\n'
    return dice.choice(
        [
            b"",
            odd,
            b"name=" + odd,
            b"name=" + quote_from_bytes(odd).encode(),
            b"&".join(b"n%d=1" % number for number in range(3000)),
            part + b"--x--\r\n",
            part,
            file + b"--x--\r\n",
            file * 100,
            b"--x\r\nContent-Disposition: form-data\r\nContent-Transfer-Encoding: base64\r\n\r\n!!\r\n--x--",
            b"[" * 5000,
            b'{"name": NaN}',
        ]
    )
