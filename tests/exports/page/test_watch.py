"""Watching by editing a file, and the loopback server as a stranger would meet it (raw requests, not a polite
client)."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from conftest import PARAMS
from test_preview import Sheet, browser  # noqa: F401 (a fixture)

from plumbcut.exports.command import main
from plumbcut.exports.page.serve import Feed, Server
from plumbcut.exports.page.watch import PENDING, Rebuilder, Watch, empty
from plumbcut.model.deck import build
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.parameter_file import read
from plumbcut.shared.errors import InputError

TERRACE = (PARAMS / "terrace.toml").read_text()
SECONDS = 60.0  # to wait for what should come at once: only a hang takes so long


def joists(text: str, spacing: str) -> str:
    changed = text.replace("[frame]", f'[frame]\njoist_spacing = "{spacing}"', 1)
    assert changed != text
    return changed


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(TERRACE)
    return path


def until(condition) -> None:
    end = time.monotonic() + SECONDS
    while not condition():
        assert time.monotonic() < end, "nothing came"
        time.sleep(0.01)


def shown(data) -> set:
    return {(p["id"], p["role"], tuple(p["place"])) for p in data["pieces"]}


# --- rebuilding -------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory):
    """A file built, edited and built again by one rebuilder, with the first build's pieces."""
    path = tmp_path_factory.mktemp("rebuild") / "deck.toml"
    path.write_text(TERRACE)
    rebuilder = Rebuilder(path)
    first, _ = rebuilder.model()
    path.write_text(joists(TERRACE, "12 in"))
    deck, measured = rebuilder.model()
    return path, rebuilder, first, deck, measured


def test_a_rebuild_is_what_a_build_from_nothing_would_be(rebuilt):
    path, _, _, deck, measured = rebuilt
    fresh = build(read(path))

    def told(parts, sizes):
        return [
            (p.id, p.role, p.stock, p.where, p.carried_by, p.place, m.length, m.volume, m.part is p)
            for p, m in zip(parts, sizes, strict=True)
        ]

    assert told(deck.parts, measured) == told(fresh.parts, measure_all(fresh.parts))


def test_pieces_whose_inputs_did_not_change_are_the_same_objects(rebuilt):
    _, rebuilder, first, deck, _ = rebuilt
    before = {id(p) for p in first.parts}
    kept = [p for p in deck.parts if id(p) in before]
    assert rebuilder.kept == len(kept)
    roles = {p.role for p in kept}
    assert {
        "footing",
        "baluster",
        "tread",
        "stringer",
        "guard post",
        "beam",
    } <= roles  # a board rests on other joists: its cut alone is kept
    assert all(p in kept for p in deck.parts if p.role in ("baluster", "tread", "stringer", "top rail"))
    assert not all(p in kept for p in deck.parts if p.role == "joist")


def test_a_cut_that_stays_is_not_made_again(rebuilt):
    _, _, first, deck, _ = rebuilt
    shapes = {p.shape for p in first.parts}
    again = [p for p in deck.parts if p.role == "joist"]
    assert len(again) > len([p for p in first.parts if p.role == "joist"])
    assert all(p.shape in shapes for p in again), "more joists, cut as before"


def test_an_unchanged_file_keeps_every_piece(file):
    rebuilder = Rebuilder(file)
    first, sizes = rebuilder.model()
    file.write_text(TERRACE + "\n# a word for the crew\n")
    again, same = rebuilder.model()
    assert rebuilder.kept == len(first.parts) and all(a is b for a, b in zip(first.parts, again.parts, strict=True))
    assert all(a is b for a, b in zip(sizes, same, strict=True))


def test_the_store_of_shapes_does_not_grow_without_end(file, monkeypatch):
    from plumbcut.exports.page import watch as room

    monkeypatch.setattr(room, "_STORE", 10)
    rebuilder = Rebuilder(file)
    for inches in (12, 13, 14):
        file.write_text(joists(TERRACE, f"{inches} in"))
        deck, _ = rebuilder.model()
        assert len(rebuilder._shop.shapes) == len({p.shape for p in deck.parts})


# --- following a file -------------------------------------------------------------------------------------------------


@pytest.fixture
def watched(file):
    said: list[str] = []
    watch, stop = Watch(file, say=said.append), threading.Event()
    thread = threading.Thread(target=watch.follow, args=(stop,), daemon=True)
    thread.start()
    until(lambda: watch.feed.version >= 2)
    yield file, watch, said
    stop.set()
    thread.join(SECONDS)


def test_saving_the_file_shows_the_new_model_and_then_its_checks(watched):
    file, watch, _ = watched
    seen = []
    show = watch.feed.show
    watch.feed.show = lambda data: (seen.append(data), show(data))
    file.write_text(joists(TERRACE, "12 in"))
    until(lambda: len(seen) == 2)
    wanted = build(read(file))
    assert [len(d["pieces"]) for d in seen] == [len(wanted.parts)] * 2
    assert seen[0]["checks"][0]["why"] == PENDING[0]["why"], "checks of the old model would be untrue of the new"
    assert len(seen[1]["checks"]) > 20 and "being worked out" not in json.dumps(seen[1]["checks"])


def test_a_broken_file_says_why_and_keeps_the_last_good_model(watched):
    file, watch, said = watched
    before, version = watch.feed.now()
    file.write_text(joists(TERRACE, "-3 in"))
    until(lambda: watch.feed.broken)
    assert watch.feed.broken.startswith(f"{file}:") and "frame.joist_spacing" in watch.feed.broken
    assert watch.feed.broken in said
    assert watch.feed.now() == (before, version)
    file.write_text("[outline\n")
    until(lambda: "is not TOML" in watch.feed.broken)
    file.unlink()
    until(lambda: "no such file" in watch.feed.broken)
    file.write_text(TERRACE)
    until(lambda: not watch.feed.broken)
    assert shown(watch.feed.now()[0]) == shown(before)


def test_a_file_moved_into_place_is_seen(watched):
    """Many editors write beside the file and rename."""
    file, watch, _ = watched
    version = watch.feed.version
    beside = file.with_suffix(".tmp")
    beside.write_text(joists(TERRACE, "24 in"))
    beside.replace(file)
    until(lambda: watch.feed.version >= version + 2)
    assert not watch.feed.broken


def test_touching_the_file_builds_nothing(watched):
    file, _watch, said = watched
    until(lambda: said)
    number = len(said)
    file.write_text(TERRACE)
    time.sleep(0.3)
    assert len(said) == number


def test_a_fault_of_ours_does_not_end_the_watch(file, monkeypatch, capsys):
    from plumbcut.exports.page import watch as room

    watch = Watch(file)
    with monkeypatch.context() as m:
        m.setattr(room, "designed", lambda *a, **k: 1 / 0)
        assert watch.look()
    assert "ZeroDivisionError" in watch.feed.broken
    file.write_text(TERRACE + "\n")
    assert watch.look() and not watch.feed.broken


# --- the server -------------------------------------------------------------------------------------------------------


@pytest.fixture
def served(file):
    data = empty(file)
    server = Server(Feed(data))
    server.start()
    yield server
    server.stop()


def ask(server: Server, path="/", method="GET", host: str | None = "", **headers):
    """(status, headers, body) of one request; `host` "" is the server's own, None sends none."""
    c = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=10)
    c.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    if host is not None:
        c.putheader("Host", host or f"127.0.0.1:{server.server_port}")
    for name, value in headers.items():
        c.putheader(name.replace("_", "-"), value)
    c.endheaders()
    answer = c.getresponse()
    return answer.status, answer.headers, answer.read()


def test_it_listens_on_loopback_alone(served):
    assert served.server_address[0] == "127.0.0.1" and served.url.startswith("http://127.0.0.1:")
    # another address of this machine, even one of the loopback network, is not answered
    with pytest.raises(OSError):
        socket.create_connection(("127.0.0.2", served.server_port), timeout=2)


def test_its_own_host_and_origin_are_answered(served):
    port = served.server_port
    for host in ("", f"localhost:{port}", f"LocalHost:{port}"):
        status, headers, body = ask(served, host=host)
        assert status == 200 and b"<!doctype html>" in body[:60].lower()
    assert ask(served, "/model.json", Origin=f"http://127.0.0.1:{port}", Sec_Fetch_Site="same-origin")[0] == 200
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin" and headers["X-Content-Type-Options"] == "nosniff"
    assert "Access-Control-Allow-Origin" not in headers
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    "host",
    [
        "example.com",
        "example.com:{port}",
        "127.0.0.1",
        "localhost",
        "127.0.0.1:1",
        "127.0.0.1:{port}.example.com",
        "127.0.0.1:{port}@example.com",
        "[::1]:{port}",
        "0.0.0.0:{port}",
        None,
    ],
)
@pytest.mark.parametrize("path", ["/", "/model.json", "/events"])
def test_a_foreign_host_is_refused(served, host, path):
    """DNS rebinding: a name of the attacker's that resolves to 127.0.0.1 still says the attacker's name."""
    status, _, body = ask(served, path, host=host and host.format(port=served.server_port))
    assert status == 421 and body == b"refused\n"


def test_two_hosts_are_refused(served):
    with socket.create_connection(("127.0.0.1", served.server_port), timeout=10) as s:
        s.sendall(
            f"GET /model.json HTTP/1.1\r\nHost: 127.0.0.1:{served.server_port}\r\nHost: example.com\r\n\r\n".encode()
        )
        assert s.makefile("rb").readline().split()[1] == b"421"


@pytest.mark.parametrize(
    "origin",
    [
        "http://example.com",
        "null",
        "https://127.0.0.1:{port}",
        "http://127.0.0.1",
        "http://127.0.0.1:{port}.example.com",
        "",
    ],
)
@pytest.mark.parametrize("path", ["/", "/model.json", "/events"])
def test_a_foreign_origin_is_refused(served, origin, path):
    assert ask(served, path, Origin=origin.format(port=served.server_port))[0] == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_request_that_the_browser_calls_foreign_is_refused(served, site):
    assert ask(served, "/model.json", Sec_Fetch_Site=site)[0] == 403


@pytest.mark.parametrize(
    "path",
    [
        "/deck.toml",
        "/../deck.toml",
        "/%2e%2e/deck.toml",
        "//etc/passwd",
        "/etc/passwd",
        "/..%2fdeck.toml",
        "/model.json/..",
        "/.",
        "/page/main.js",
        "/index.html",
        "/model.json%00",
        "\\..\\deck.toml",
        "http://example.com/",
        "http://example.com/model.json",
        "*",
    ],
)
def test_there_is_nothing_outside_its_three_paths(served, path):
    assert ask(served, path)[0] == 404


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT"])
def test_only_reading_is_answered(served, method):
    assert ask(served, "/", method)[0] == 501


def test_a_taken_port_is_one_clear_message(served):
    with pytest.raises(InputError, match=rf"--port: cannot serve on 127.0.0.1:{served.server_port}"):
        Server(Feed({}), served.server_port)


class Listener:
    """A page's event stream, read by hand."""

    def __init__(self, server: Server, have: int):
        self.socket = socket.create_connection(("127.0.0.1", server.server_port), timeout=SECONDS)
        self.socket.sendall(
            f"GET /events?have={have} HTTP/1.1\r\nHost: 127.0.0.1:{server.server_port}\r\n\r\n".encode()
        )
        self.lines = self.socket.makefile("r", encoding="utf-8")
        while self.lines.readline().strip():
            pass

    def next(self) -> tuple[str, object]:
        event = ""
        while True:
            line = self.lines.readline().rstrip("\n")
            if line.startswith("event: "):
                event = line[7:]
            elif line.startswith("data: "):
                return event, json.loads(line[6:])


def test_a_page_misses_no_news(served):
    feed = served.feed
    page = Listener(served, 0)
    feed.fail('deck.toml:3: a "quote"\nand a second line')
    assert page.next() == ("broken", 'deck.toml:3: a "quote"\nand a second line')
    feed.show(feed.data)
    assert page.next() == ("model", "1")
    late = Listener(served, 0)  # loaded before, listening only now
    assert late.next() == ("model", "1")
    feed.fail("broken while it was away")
    assert Listener(served, 1).next() == ("broken", "broken while it was away")


def test_a_page_that_closes_is_forgotten(served, monkeypatch):
    from plumbcut.exports.page import serve

    monkeypatch.setattr(serve, "_ALIVE", 0.05)
    page = Listener(served, 0)
    until(lambda: served.feed.listeners == 1)
    page.lines.close()
    page.socket.close()
    until(lambda: served.feed.listeners == 0)


def connected(server: Server) -> socket.socket:
    return socket.create_connection(("127.0.0.1", server.server_port), timeout=SECONDS)


def test_no_more_connections_than_the_bound(served, monkeypatch):
    """One more is closed unread; when one of those that fill it up goes, the next is answered."""
    from plumbcut.exports.page import serve
    from plumbcut.exports.page.serve import MOST_CONNECTIONS

    monkeypatch.setattr(serve, "ASK_WITHIN", 600.0)  # on a busy machine none may be ended before all are there
    idle = [connected(served) for _ in range(MOST_CONNECTIONS)]
    until(lambda: len(served._open) == MOST_CONNECTIONS)
    for _ in range(3):
        over = connected(served)
        assert over.recv(1) == b""  # its end, at once
        over.close()
    assert len(served._open) == MOST_CONNECTIONS
    idle.pop().close()
    until(lambda: len(served._open) < MOST_CONNECTIONS)
    assert ask(served)[0] == 200
    for one in idle:
        one.close()


def test_a_connection_that_asks_nothing_is_ended_and_one_that_listens_is_not(served, monkeypatch):
    from plumbcut.exports.page import serve

    page = Listener(served, 0)
    monkeypatch.setattr(serve, "ASK_WITHIN", 0.3)
    quiet, slow = connected(served), connected(served)
    slow.sendall(b"GET / HTTP/1.1\r\nHost: ")  # and never the rest
    began = time.monotonic()
    assert quiet.recv(1) == b"" and slow.recv(1) == b""
    assert 0.2 < time.monotonic() - began < 9.0
    served.feed.show(served.feed.data)
    assert page.next() == ("model", "1")


# --- the command ------------------------------------------------------------------------------------------------------


def test_the_command_serves_follows_and_ends_at_a_key(file):
    """As a builder starts it: in a process of its own, the file edited from outside, ended by Ctrl-C."""
    # a shell that runs the tests in the background has the key ignored, and all that they start inherits it
    heeds = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
    code = f"{heeds}; from plumbcut.exports.command import main; main()"
    start = [sys.executable, "-c", code, "watch", str(file), "--no-open"]
    running = subprocess.Popen(
        start, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"}
    )
    try:
        lines = iter(running.stdout.readline, "")
        port = int(next(m[1] for line in lines if (m := re.match(r"http://127\.0\.0\.1:(\d+)/ follows ", line))))
        page = Listener(SimpleNamespace(server_port=port), 2)  # the first build made model 1 and, with its checks, 2
        file.write_text(joists(TERRACE, "12 in"))
        assert page.next() == ("model", "3")
        pieces = json.loads(ask(SimpleNamespace(server_port=port), "/model.json")[2])["pieces"]
        assert len(pieces) == len(build(read(file)).parts)
        file.write_text("[outline\n")
        event, words = page.next()
        while event == "model":
            event, words = page.next()
        assert event == "broken" and words.startswith(f"{file}:1: is not TOML")
        running.send_signal(signal.SIGINT)
        assert running.wait(SECONDS) == 0
        assert "Traceback" not in running.stdout.read()
    finally:
        running.kill()
        running.stdout.close()
        running.wait()


def test_a_file_that_is_not_there_is_one_clear_message(tmp_path):
    done = CliRunner().invoke(main, ["watch", str(tmp_path / "deck.toml")])
    assert done.exit_code == 2 and done.output == f"{tmp_path / 'deck.toml'}: no such file\n"


def test_the_page_itself_follows_the_file(browser, file):  # noqa: F811 (the fixture)
    """In a real browser: a file broken from the start, mended, changed, broken again."""
    file.write_text("[outline\n")
    watch = Watch(file)
    server = Server(watch.feed)
    server.start()
    watch.look()
    sheet = Sheet(browser, server.url)
    page = sheet.page
    count = "(n) => document.getElementById('count').textContent.startsWith(`${n} `)"
    try:
        page.wait_for_selector("#news:not([hidden])")
        assert page.inner_text("#news") == watch.feed.broken
        for spacing in ("16 in", "12 in"):
            file.write_text(joists(TERRACE, spacing))
            watch.look()
            parts = watch.rebuilder.model()[0].parts
            page.wait_for_function(count, arg=len(parts))
            page.wait_for_function("() => !document.getElementById('checks').textContent.includes('being worked out')")
            assert not page.locator("#news").is_visible()
        middle = page.evaluate(
            "(p) => plumbcut.screen(p)", np.mean([p.box.mean(axis=0) for p in parts], axis=0).tolist()
        )
        box = page.locator("#stage").bounding_box()
        assert 0 < middle[0] < box["width"] and 0 < middle[1] < box["height"], (
            "the first model is in sight, though there was none to look at"
        )
        file.write_text("[outline\n")
        watch.look()
        page.wait_for_selector("#news:not([hidden])")
        assert page.evaluate("(n) => document.getElementById('count').textContent.startsWith(`${n} `)", len(parts)), (
            "the last good model stays"
        )
        assert sheet.complaints == []
    finally:
        sheet.context.close()
        server.stop()
