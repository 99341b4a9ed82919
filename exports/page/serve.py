"""The loopback server behind `watch`: one page, its model, its parameter file as a form and a stream of news, on
127.0.0.1 and for nobody else.

A page of some other site that the builder has open can reach 127.0.0.1 as well. So a request is answered only where its
Host is this server's own (a foreign name that resolves here is refused), where no other Origin asks, and for the few
paths there are. Nothing is read from the disk for a request but the one file that is watched, and nothing else can be
written: a write names keys of that file and no path, says its Origin, and carries the token that stands in the page
which this server gave out and no page of another site can read.
"""

from __future__ import annotations

import contextlib
import hmac
import json
import secrets
import socket
import threading
import time
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit

from ...shared.errors import InputError
from .desk import Desk, Refused
from .preview import page

MOST_LISTENERS = 32
MOST_CONNECTIONS = 64  # open at once, listeners among them: one more is closed unread
ASK_WITHIN = 10.0  # seconds from connecting until the whole request is there, however slowly it comes
_ALIVE = 10.0  # seconds between signs of life, by which a closed page is noticed
LARGEST_WRITE = 65_536  # bytes of a request that writes; our own
_HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Content-Security-Policy": "frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
}


class Feed:
    """What the page shows now, and who waits for what comes next. `version` counts the models."""

    def __init__(self, data: dict[str, Any]):
        self.data, self.version, self.broken, self.closed = data, 0, "", False
        self.file = ""  # the version of the parameter file last seen
        self.changed = threading.Condition()
        self.listeners = 0
        self._news = 0

    def show(self, data: dict[str, Any]) -> None:
        """A new good model: pages fetch it and any message goes."""
        with self.changed:
            self.data, self.broken = data, ""
            self.version += 1
            self._tell()

    def fail(self, message: str) -> None:
        """The file cannot be built: pages show why and keep the last good model."""
        with self.changed:
            self.broken = message
            self._tell()

    def filed(self, version: str) -> None:
        """The file has another text: pages fetch the form."""
        with self.changed:
            if version != self.file:
                self.file = version
                self._tell()

    def close(self) -> None:
        with self.changed:
            self.closed = True
            self._tell()

    def _tell(self) -> None:
        self._news += 1
        self.changed.notify_all()

    def after(self, news: int, timeout: float) -> tuple[int, int, str]:
        """(news, version, broken) as soon as there is more than `news`, or after `timeout` seconds as they are."""
        with self.changed:
            self.changed.wait_for(lambda: self._news != news, timeout)
            return self._news, self.version, self.broken

    def now(self) -> tuple[dict[str, Any], int]:
        with self.changed:
            return self.data, self.version


class Server(ThreadingHTTPServer):
    """Serves a feed on 127.0.0.1, and the file of a `desk` to work on. `port` 0 takes any that is free. Raises
    InputError where the port is taken."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self, feed: Feed, port: int = 0, desk: Desk | None = None):
        self.feed, self.desk, self.token = feed, desk, secrets.token_urlsafe(32)
        self._open: dict[socket.socket, float | None] = {}  # when the request must be there; None once it is
        self._counting = threading.Lock()
        try:
            super().__init__(("127.0.0.1", port), _Answer)
        except OSError as e:
            raise InputError(f"--port: cannot serve on 127.0.0.1:{port}: {e.strerror or e}") from None
        names = [f"{name}:{self.server_port}" for name in ("127.0.0.1", "localhost")]
        self.hosts = {*names, *(("127.0.0.1", "localhost") if self.server_port == 80 else ())}
        self.origins = {f"http://{name}" for name in self.hosts}

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_port}/"

    def start(self) -> None:
        threading.Thread(target=self.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True).start()

    def stop(self) -> None:
        self.feed.close()
        self.shutdown()
        self.server_close()

    def process_request(self, request, client_address) -> None:
        with self._counting:
            full = len(self._open) >= MOST_CONNECTIONS
            if not full:
                self._open[request] = time.monotonic() + ASK_WITHIN
        if full:
            return self.shutdown_request(request)
        super().process_request(request, client_address)

    def shutdown_request(self, request) -> None:
        with self._counting:
            self._open.pop(request, None)
        super().shutdown_request(request)

    def asked(self, request) -> None:
        """The whole request of this connection is there."""
        with self._counting:
            if request in self._open:
                self._open[request] = None

    def service_actions(self) -> None:
        """Ends connections that asked nothing in time; its thread sees the end and closes."""
        now = time.monotonic()
        with self._counting:
            late = [r for r, end in self._open.items() if end is not None and end < now]
        for request in late:
            with contextlib.suppress(OSError):
                request.shutdown(socket.SHUT_RDWR)

    def handle_error(self, request, client_address) -> None:
        """A page that was closed is no fault."""


class _Answer(BaseHTTPRequestHandler):
    server: Server
    server_version, sys_version = "plumbcut", ""
    timeout = 30

    def do_GET(self) -> None:
        self.server.asked(self.connection)
        refused = self._refused()
        if refused:
            return self._send(refused, b"refused\n", "text/plain")
        target = urlsplit(self.path)
        if target.scheme or target.netloc:
            return self._send(HTTPStatus.NOT_FOUND, b"no such page\n", "text/plain")
        feed = self.server.feed
        if target.path == "/":
            data, version = feed.now()
            live = {"events": f"events?have={version}", "model": "model.json"}
            if self.server.desk is not None:
                live["events"] += "&file="
                live |= {"file": "file.json", "write": "write", "back": "back", "token": self.server.token}
            text = page(data, live=live)
            return self._send(HTTPStatus.OK, text.encode(), "text/html; charset=utf-8")
        if target.path == "/model.json":
            return self._tell(HTTPStatus.OK, feed.now()[0])
        if target.path == "/file.json" and self.server.desk is not None:
            return self._tell(HTTPStatus.OK, self.server.desk.form())
        if target.path == "/events" and self.command == "GET":
            return self._events(parse_qs(target.query, keep_blank_values=True))
        self._send(HTTPStatus.NOT_FOUND, b"no such page\n", "text/plain")

    do_HEAD = do_GET

    def do_POST(self) -> None:
        """Write values into the file (`write`), or go a step in its history (`back`). Answers with the form as it then
        is; 409 where the file is not what the writer saw, 422 where what it asks for is refused."""
        self.server.asked(self.connection)
        self.close_connection = True
        desk = self.server.desk
        if desk is None or self.path not in ("/write", "/back"):
            return self.send_error(HTTPStatus.NOT_IMPLEMENTED)
        if refused := self._refused() or self._no_writer():
            return self._send(refused, b"refused\n", "text/plain")
        try:
            asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            version = str(asked["version"])
            if self.path == "/back":
                step = {-1: -1, 1: 1}[asked["step"]]
                desk.back(version, step)
            else:
                changes = list(asked["changes"])
                if not all(isinstance(c, dict) for c in changes):
                    raise TypeError
                desk.write(version, changes)
        except Refused as e:
            status = HTTPStatus.CONFLICT if e.stale else HTTPStatus.UNPROCESSABLE_ENTITY
            faults = [{"key": f.key, "message": f.message} for f in e.faults]
            return self._tell(status, {"message": str(e), "refused": faults, "form": desk.form()})
        except (ValueError, KeyError, TypeError, RecursionError):
            return self._send(HTTPStatus.BAD_REQUEST, b"no such write\n", "text/plain")
        self._tell(HTTPStatus.OK, {"form": desk.form()})

    def _no_writer(self) -> HTTPStatus | None:
        """Why a request may not write: it must say its Origin (every browser does), be JSON of a bounded length, which
        no form of another page can send unasked, and carry the token."""
        given = self.headers.get("X-Plumbcut-Token") or ""
        if not self.headers.get("Origin") or not hmac.compare_digest(given.encode(), self.server.token.encode()):
            return HTTPStatus.FORBIDDEN
        if self.headers.get_content_type() != "application/json" or self.headers.get("Transfer-Encoding"):
            return HTTPStatus.UNSUPPORTED_MEDIA_TYPE
        length = self.headers.get("Content-Length") or ""
        if not (length.isascii() and length.isdecimal()):
            return HTTPStatus.LENGTH_REQUIRED
        return HTTPStatus.REQUEST_ENTITY_TOO_LARGE if int(length) > LARGEST_WRITE else None

    def _tell(self, status: HTTPStatus, data: Any) -> None:
        self._send(status, json.dumps(data, separators=(",", ":"), allow_nan=False).encode(), "application/json")

    def _refused(self) -> HTTPStatus | None:
        hosts = self.headers.get_all("Host") or []
        if len(hosts) != 1 or hosts[0].strip().lower() not in self.server.hosts:
            return HTTPStatus.MISDIRECTED_REQUEST
        if any(o not in self.server.origins for o in self.headers.get_all("Origin") or []):
            return HTTPStatus.FORBIDDEN
        if self.headers.get("Sec-Fetch-Site", "none") not in ("none", "same-origin"):
            return HTTPStatus.FORBIDDEN
        return None

    def _send(self, status: HTTPStatus, body: bytes, kind: str) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self._common()
        if self.command != "HEAD":
            self.wfile.write(body)

    def _common(self) -> None:
        for name, value in _HEADERS.items():
            self.send_header(name, value)
        self.end_headers()

    def _events(self, query: dict[str, list[str]]) -> None:
        """News as server-sent events. A page that comes back says which model it has, and misses nothing."""
        feed = self.server.feed
        with feed.changed:
            if feed.listeners >= MOST_LISTENERS:
                return self._send(HTTPStatus.SERVICE_UNAVAILABLE, b"too many pages\n", "text/plain")
            feed.listeners += 1
        try:
            self.send_response(HTTPStatus.OK)
            self.send_header("Content-Type", "text/event-stream")
            self._common()
            have, told = self.headers.get("Last-Event-ID") or query.get("have", ["-1"])[0], ""
            follows, file = "file" in query, ""
            news = -1
            while not feed.closed:
                news, version, broken = feed.after(news, _ALIVE)
                if feed.closed:
                    break
                out = ": here\n\n"
                if have != str(version):
                    have, told = str(version), ""
                    out = f'event: model\nid: {version}\ndata: "{version}"\n\n'
                if broken != told:
                    told = broken
                    out += f"event: broken\ndata: {json.dumps(broken)}\n\n"
                if follows and feed.file != file:
                    file = feed.file
                    out += f"event: file\ndata: {json.dumps(file)}\n\n"
                self.wfile.write(out.encode())
                self.wfile.flush()
        finally:
            with feed.changed:
                feed.listeners -= 1

    def log_message(self, *_) -> None:
        """Silent: the terminal tells of builds."""
