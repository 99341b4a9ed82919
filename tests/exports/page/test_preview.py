"""The page in headless Chromium: what a person taps, slides and types, and what the page then says."""

from __future__ import annotations

import io
import json
import os
import shutil
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import SimpleNamespace

import cadquery as cq
import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import sync_playwright
from small_deck import small_deck

from plumbcut.exports.drafting.style import CAUTIONS
from plumbcut.exports.drafting.wording import measured_text
from plumbcut.exports.page import preview
from plumbcut.model.deck import build
from plumbcut.model.measuring.measure import measure_all
from plumbcut.model.parameter_file import read
from plumbcut.model.rules.checks import check_deck
from plumbcut.params import __path__ as DEMOS
from plumbcut.shared.units import feet_inches

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
]
_NASTY = "<img src=x onerror=\"document.title='broken in'\"></script><b>&amp;"


def measured_rows(deck):
    return [
        {
            "id": m.id,
            "length": m.length,
            "long_point": m.long_point,
            "short_point": m.short_point,
            "width": m.width,
            "thickness": m.thickness,
            "ends": [{"end": e.end, "mitre": e.mitre, "bevel": e.bevel} for e in m.ends],
        }
        for m in measure_all(deck.parts)
    ]


CHECKS = [
    {
        "rule": "guard height",
        "source": "an invented source",
        "piece": "GP1",
        "measured": '34"',
        "limit": '36"',
        "margin": -2.0,
        "result": "not met",
        "why": "",
    },
    {
        "rule": "snow load",
        "source": "",
        "piece": "",
        "measured": None,
        "limit": None,
        "margin": None,
        "result": "not checked",
        "why": "no load was given",
    },
    {
        "rule": "beam span",
        "source": "",
        "piece": "BM1-01",
        "measured": "4'",
        "limit": "6'",
        "margin": 24.0,
        "result": "met",
        "why": "",
    },
]


@pytest.fixture(scope="module")
def deck():
    deck = small_deck()
    deck.planes = SimpleNamespace(grade=lambda x, y: 0.02 * x)
    deck.parameters = SimpleNamespace(project=SimpleNamespace(name="A deck by the pond"))
    return deck


@pytest.fixture(scope="module")
def data(deck):
    return preview.model_data(deck, measured_rows(deck), CHECKS)


@pytest.fixture(scope="module")
def browser():
    if not CHROMIUM:
        if os.environ.get("CI"):
            pytest.fail("CI needs Chromium: apt-get install chromium")
        pytest.skip("no Chromium here: apt-get install chromium")
    with sync_playwright() as play:
        yield play.chromium.launch(executable_path=CHROMIUM, args=_FLAGS)


class Sheet:
    """An opened page and what it complained of."""

    def __init__(self, browser, url: str, **context):
        self.context = browser.new_context(
            **({"viewport": {"width": 1000, "height": 640}, "reduced_motion": "reduce"} | context)
        )
        self.page, self.complaints, self.asked = self.context.new_page(), [], []
        self.page.on("console", lambda m: self.complaints.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda e: self.complaints.append(str(e)))
        self.page.on("request", lambda r: self.asked.append(r.url))
        self.page.goto(url)
        self.page.wait_for_function("window.plumbcut !== undefined")
        self.settle()

    def settle(self):
        self.page.wait_for_timeout(30)
        self.page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")

    def on_page(self, x, y):
        box = self.page.locator("#stage").bounding_box()
        return box["x"] + x, box["y"] + y

    def tap(self, piece: str, touch: bool = False):
        at = self.page.evaluate("(id) => plumbcut.where(id)", piece)
        assert at, f"{piece} is not in sight"
        (self.page.touchscreen.tap if touch else self.page.mouse.click)(*self.on_page(*at))

    def facts(self) -> dict[str, str]:
        return dict(
            self.page.evaluate(
                "[...document.querySelectorAll('#piece dt')].map((t) => [t.textContent, t.nextSibling.textContent])"
            )
        )

    def picture(self) -> np.ndarray:
        self.settle()
        return np.asarray(Image.open(io.BytesIO(self.page.locator("#stage").screenshot())).convert("RGB"), int)

    def cut(self, axis: int, at: float):
        self.page.check(f"input[name=axis][value='{axis}']")
        self.page.evaluate(
            "(v) => { const s = document.getElementById('plane'); s.value = v; s.dispatchEvent(new Event('input')); }",
            at,
        )
        self.settle()


@pytest.fixture(scope="module")
def file(deck, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "preview.html"
    preview.write_preview(deck, measured_rows(deck), CHECKS, path)
    return path


@pytest.fixture(scope="module")
def opened(browser, file):
    sheet = Sheet(browser, file.as_uri())
    yield sheet
    sheet.context.close()


@pytest.fixture
def sheet(opened):
    """The page, opened once, put back as it was at the start."""
    page = opened.page
    page.evaluate("""() => {
      for (const box of document.querySelectorAll('#roles fieldset > label input, #roles > label input'))
        if (!box.checked || box.indeterminate) { box.checked = false; box.click(); }
      for (const box of document.querySelectorAll('#tape:checked')) box.click();
      document.querySelector("input[name=axis][value='']").click();
      document.getElementById('mark').value = '';
      document.getElementById('found').hidden = true;
    }""")
    page.mouse.click(*opened.on_page(3, 3))  # beside the deck: nothing is chosen
    page.click("#views button:text-is('Whole')")
    opened.settle()
    yield opened
    assert opened.complaints == []
    assert len(opened.asked) == 1, "the page asked for more than itself"


def changed(a: np.ndarray, b: np.ndarray) -> float:
    """The share of the picture's points that differ by more than a shade."""
    return float((np.abs(a - b).max(axis=2) > 12).mean())


def test_it_loads_without_errors_or_network_and_shows_the_deck(sheet, deck, file):
    assert sheet.page.inner_text("#name") == "A deck by the pond" == sheet.page.title()
    assert sheet.page.inner_text("#count").startswith(f"{len(deck.parts)} pieces")
    words = sheet.page.inner_text("#cautions").upper()
    assert all(caution.rstrip(".") in words for caution in CAUTIONS)
    picture = sheet.picture()
    assert changed(picture, np.broadcast_to(picture[2, 2], picture.shape)) > 0.15
    assert file.stat().st_size < 6e6


@pytest.mark.parametrize("number", [0, 1, 2])
def test_tapping_a_piece_shows_what_was_measured(sheet, deck, number):
    part = [p for p in deck.parts if p.role in ("fascia", "tread", "border")][::2][number]
    sheet.tap(part.id)
    facts, row = sheet.facts(), next(r for r in measured_rows(deck) if r["id"] == part.id)
    assert sheet.page.inner_text("#piece .big") == part.id
    assert facts["mark"] == part.mark and facts["stock"].startswith(part.stock.name)
    assert facts["length"] == feet_inches(row["length"])
    assert facts["end A"] == preview.cut_words(row["ends"][0])


def test_a_mitre_reads_as_saw_settings():
    assert preview.cut_words({"mitre": 45.0, "bevel": 0.0}) == "mitre 45.0°, long point on the near edge"
    assert (
        preview.cut_words({"mitre": -22.5, "bevel": -10.0})
        == "mitre 22.5°, long point on the far edge; bevel 10.0°, long point on top"
    )
    assert preview.cut_words({"mitre": 0.01, "bevel": -0.01}) == "square"


def test_what_carries_a_piece_is_a_way_to_it(sheet, deck):
    sheet.page.fill("#mark", "j1-03")
    sheet.page.keyboard.press("Enter")
    assert sheet.facts()["carried by"] == "BM1-01"
    sheet.page.click("#piece dd button:has-text('BM1-01')")
    assert sheet.page.inner_text("#piece .big") == "BM1-01"
    assert "J1-01" in sheet.facts()["carries"]


def test_a_searched_mark_takes_every_piece_of_it_and_flies_there(sheet):
    before = sheet.picture()
    sheet.page.fill("#mark", "BA")
    assert "BA1" in sheet.page.inner_text("#found")
    sheet.page.click("#found button")
    sheet.settle()
    assert sheet.page.inner_text("#piece .big") == "BA1, 10 alike"
    assert changed(before, sheet.picture()) > 0.2
    sheet.page.fill("#mark", "no such")
    assert sheet.page.inner_text("#found") == "No such mark."


def test_hiding_a_role_takes_it_out_of_the_picture_and_out_of_reach(sheet):
    before = sheet.picture()
    sheet.page.uncheck("#roles label:text-is('board') input")
    assert changed(before, sheet.picture()) > 0.03
    assert sheet.page.evaluate("plumbcut.where('B1-05')") is None
    assert sheet.page.evaluate("document.querySelector(\"#roles input[aria-label='all surface']\").indeterminate")
    sheet.page.uncheck("#roles input[aria-label='all surface']")
    sheet.page.check("#roles input[aria-label='all surface']")
    assert changed(before, sheet.picture()) < 0.002


@pytest.mark.parametrize("axis, at", [(0, 60.3), (1, 17.1), (2, 31.5), (2, 50.0)])
def test_the_cut_changes_the_picture_and_its_faces_are_the_solids_own(sheet, deck, axis, at):
    whole = sheet.picture()
    sheet.cut(axis, at)
    assert changed(whole, sheet.picture()) > 0.02
    areas = {}
    for cap in sheet.page.evaluate("plumbcut.caps()"):
        t = np.array(cap["triangles"]).reshape(-1, 3, 3)
        areas[cap["id"]] = np.linalg.norm(np.cross(t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]), axis=1).sum() / 2
    # the kernel's own section: a great planar face common with each solid
    normal = [0, 0, 0]
    normal[axis] = 1
    big = cq.Face.makePlane(2000, 2000, (at * normal[0], at * normal[1], at * normal[2]), tuple(normal))
    for part in deck.parts:
        wanted = sum(f.Area() for f in big.intersect(part.solid).Faces())
        assert areas.get(part.id, 0.0) == pytest.approx(wanted, rel=4e-3 if part.shape.circle else 1e-6, abs=1e-3), (
            part.id
        )


def test_the_cut_turns_its_faces_to_the_eye(sheet):
    sheet.cut(0, 60.0)
    for name, gone in (("Right", "GP1-02"), ("Left", "S1-01")):
        sheet.page.click(f"#views button:text-is('{name}')")
        sheet.settle()
        assert sheet.page.evaluate("(id) => plumbcut.where(id)", gone) is None
    assert sheet.page.is_checked("#flip")


def test_measurements_and_results_serve_as_they_come_from_the_model():
    deck = build(read(os.path.join(DEMOS[0], "terrace.toml")))
    measured = measure_all(deck.parts)
    results = check_deck(deck, measured)
    shown = preview.model_data(deck, measured, results)
    assert shown["name"] == "Back terrace" and len(shown["pieces"]) == len(deck.parts) == len(measured)
    for piece, m in zip(shown["pieces"], measured):
        assert dict(piece["facts"])["length"] == feet_inches(m.length)
    for told, r in zip(shown["checks"], results):
        assert (told["rule"], told["result"], told["measured"]) == (r.rule, r.result, measured_text(r))
        assert told["pieces"] == list(r.ids)
    assert len(shown["ground"]) == 4


def test_a_cut_face_can_be_tapped_and_what_is_cut_away_cannot(sheet, deck):
    sheet.page.click("#views button:text-is('Right')")
    sheet.settle()
    sheet.cut(0, 60.0)
    cap = next(c for c in sheet.page.evaluate("plumbcut.caps()") if c["id"].startswith("FA"))
    middle = np.array(cap["triangles"]).reshape(-1, 3, 3)[0].mean(axis=0)
    x, y, _ = sheet.page.evaluate("(p) => plumbcut.screen(p)", middle.tolist())
    sheet.page.mouse.click(*sheet.on_page(x, y))
    assert sheet.page.inner_text("#piece .big") == cap["id"]
    gone = next(p for p in deck.parts if p.box[0][0] > 60.0)
    assert sheet.page.evaluate("(id) => plumbcut.where(id)", gone.id) is None


def test_two_picked_corners_give_their_distance_in_feet_and_inches(sheet, deck):
    sheet.page.click("#views button:text-is('Above')")
    sheet.settle()
    sheet.page.check("#tape")
    border = next(p for p in deck.parts if p.where == "left edge")
    top = border.vertices[border.vertices[:, 2] > border.box[1][2] - 1e-6]
    a, b = sorted(p for p in top.tolist() if p[0] == 0.0)
    for corner in (a, b):
        x, y, _ = sheet.page.evaluate("(p) => plumbcut.screen(p)", corner)
        sheet.page.mouse.click(*sheet.on_page(x + 0.4, y - 0.4))
    assert sheet.page.inner_text("#span") == feet_inches(float(np.linalg.norm(np.subtract(a, b)))) == "8'-0\""
    assert "front to back 8'-0\"" in sheet.page.inner_text("#distance")


def test_lengths_read_as_on_the_drawings(sheet):
    values = [i / 32 for i in range(-900, 900)] + [11.999, 143.97, 147.5, 0.03, -0.03]
    shown = sheet.page.evaluate("(v) => v.map(plumbcut.feetInches)", values)
    assert [(v, s) for v, s in zip(values, shown) if s != feet_inches(v)] == []


def test_a_check_that_is_not_met_is_listed_and_flies_to_its_piece(sheet):
    assert "1 not met, 1 not checked, 1 met" in sheet.page.inner_text("#checks")
    before = sheet.picture()
    sheet.page.click("#checks button:has-text('guard height')")
    sheet.settle()
    assert sheet.page.inner_text("#piece .big").startswith("GP1")
    assert "Not met: guard height" in sheet.page.inner_text("#piece")
    assert changed(before, sheet.picture()) > 0.1


def test_dragging_turns_the_deck_and_the_wheel_comes_closer(sheet):
    before = sheet.picture()
    x, y = sheet.on_page(600, 200)
    sheet.page.mouse.move(x, y)
    sheet.page.mouse.down()
    sheet.page.mouse.move(x + 160, y + 20, steps=4)
    sheet.page.mouse.up()
    turned = sheet.picture()
    assert changed(before, turned) > 0.1
    assert sheet.page.locator("#piece .big").count() == 0, "a drag is no tap"
    sheet.page.mouse.wheel(0, -400)
    assert changed(turned, sheet.picture()) > 0.1


def test_it_works_on_a_phone(browser, data, deck, tmp_path):
    (tmp_path / "p.html").write_text(preview.page(data))
    sheet = Sheet(
        browser,
        (tmp_path / "p.html").as_uri(),
        viewport={"width": 360, "height": 700},
        device_scale_factor=2,
        is_mobile=True,
        has_touch=True,
    )
    try:
        assert sheet.page.evaluate("document.documentElement.scrollWidth") <= 360
        assert sheet.page.locator("#stage").bounding_box()["height"] > 250
        sheet.tap("T1-04", touch=True)
        row = next(r for r in measured_rows(deck) if r["id"] == "T1-04")
        assert sheet.facts()["length"] == feet_inches(row["length"])
        sheet.page.tap("#tabs button:text-is('Cut')")
        assert sheet.page.locator("#plane").is_visible() and not sheet.page.locator("#piece").is_visible()
        sheet.page.tap("#tabs button:text-is('Cut')")
        assert not sheet.page.locator("#plane").is_visible()
        assert sheet.page.evaluate("[...document.querySelectorAll('#tabs button')].every((b) => b.offsetHeight >= 44)")
        assert sheet.complaints == []
    finally:
        sheet.context.close()


def test_markup_in_a_name_is_shown_as_text(browser, deck, tmp_path):
    first = deck.parts[-2].replaced(where=_NASTY, mark=_NASTY, id="X" + _NASTY)  # a tread
    nasty = SimpleNamespace(
        parts=[*deck.parts[:-2], first], parameters=SimpleNamespace(project=SimpleNamespace(name=_NASTY))
    )
    checks = [{"rule": _NASTY, "piece": _NASTY, "result": "not met", "why": _NASTY, "source": _NASTY}]
    preview.write_preview(nasty, [], checks, tmp_path / "n.html")
    sheet = Sheet(browser, (tmp_path / "n.html").as_uri())
    try:
        assert sheet.page.inner_text("#name") == _NASTY == sheet.page.title()
        sheet.tap(first.id)
        assert sheet.page.inner_text("#piece .big") == first.id
        assert _NASTY in sheet.facts()["piece"] and sheet.facts()["length"] == "not measured"
        sheet.page.fill("#mark", "<img")
        assert _NASTY in sheet.page.inner_text("#found")
        assert _NASTY in sheet.page.inner_text("#checks")
        sheet.page.evaluate("(w) => plumbcut.message(w)", _NASTY)
        assert sheet.page.inner_text("#news") == _NASTY
        assert sheet.page.locator("img").count() == 0 and sheet.page.locator("b").count() == 0
        assert sheet.complaints == []
    finally:
        sheet.context.close()


def test_no_script_but_the_page_own_may_run(sheet):
    sheet.page.evaluate(
        """() => { const s = document.createElement('script');
        s.textContent = "document.title = 'broken in'"; document.body.append(s); }"""
    )
    assert sheet.page.title() == "A deck by the pond"
    assert any("Content Security Policy" in c for c in sheet.complaints)
    sheet.complaints.clear()


class _Feed:
    """A server of one page that tells it what it is told to `say`: as `watch` does, with another model to fetch."""

    def __init__(self, page: str, model: dict):
        self._feed: list[str] = []
        self._ready = threading.Condition()
        asks = self

        class Answer(BaseHTTPRequestHandler):
            def do_GET(self):
                if self.path == "/events":
                    asks._tell(self)
                elif self.path == "/model.json":
                    asks._give(self, "application/json", json.dumps(model))
                else:
                    asks._give(self, "text/html; charset=utf-8", page)

            def log_message(self, *_):
                pass

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Answer)
        self.address = f"http://127.0.0.1:{self._server.server_port}/"
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def _give(self, to: BaseHTTPRequestHandler, kind: str, body: str) -> None:
        to.send_response(200)
        to.send_header("Content-Type", kind)
        to.end_headers()
        to.wfile.write(body.encode())

    def _tell(self, to: BaseHTTPRequestHandler) -> None:
        to.send_response(200)
        to.send_header("Content-Type", "text/event-stream")
        to.end_headers()
        sent = 0
        with self._ready:
            while "stop" not in self._feed:
                while sent < len(self._feed):
                    to.wfile.write(self._feed[sent].encode())
                    to.wfile.flush()
                    sent += 1
                self._ready.wait(1)

    def say(self, event: str, words: str) -> None:
        with self._ready:
            self._feed.append(f"event: {event}\ndata: {json.dumps(words)}\n\n")
            self._ready.notify_all()

    def stop(self) -> None:
        with self._ready:
            self._feed.append("stop")
            self._ready.notify_all()
        self._server.shutdown()


def test_a_served_page_follows_the_builds_and_keeps_the_last_good_model(browser, deck, data):
    fewer = dict(data, pieces=[p for p in data["pieces"] if p["role"] != "baluster"])
    feed = _Feed(preview.page(data, live={"events": "events", "model": "model.json"}), fewer)
    sheet = Sheet(browser, feed.address)
    try:
        sheet.page.uncheck("#roles label:text-is('tread') input")
        feed.say("broken", "deck.toml:4: stair.0.width: got <b>wide</b>; wanted a length")
        sheet.page.wait_for_selector("#news:not([hidden])")
        assert sheet.page.inner_text("#news") == "deck.toml:4: stair.0.width: got <b>wide</b>; wanted a length"
        assert sheet.page.evaluate("plumbcut.corners('J1-01').length") == 24  # the last good model still stands
        feed.say("model", "")
        sheet.page.wait_for_function(
            "(n) => document.getElementById('count').textContent.startsWith(`${n} `)", arg=len(fewer["pieces"])
        )
        assert not sheet.page.locator("#news").is_visible()
        assert not sheet.page.is_checked("#roles label:text-is('tread') input"), "what was hidden stays hidden"
        assert sheet.complaints == []
    finally:
        sheet.context.close()
        feed.stop()
