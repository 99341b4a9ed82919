"""The parameter file worked on from the page: what is written, what is refused and what nobody else may do. The file on
the disk is the judge."""

from __future__ import annotations

import json
import os
import stat
import threading
import tomllib

import pytest
from conftest import PARAMS
from test_preview import Sheet, browser  # noqa: F401 (a fixture)
from test_watch import SECONDS, ask, until

from plumbcut.exports.page.desk import Desk, Refused, edge_length, version_of
from plumbcut.exports.page.form import feet_and_inches, groups, length_as_there, typed
from plumbcut.exports.page.serve import LARGEST_WRITE, Server
from plumbcut.exports.page.watch import Watch
from plumbcut.model.input.parameters import Parameters
from plumbcut.model.input.starter import sections
from plumbcut.model.parameter_file import read
from plumbcut.shared.errors import LengthError
from plumbcut.shared.units import parse_length

ELL = """\
# an L by the garden
[project]
name = "Garden room" # for the title block

[outline]
points = [["0", 0], ["10' 6\\"", 0],   # along the lawn
          ["10' 6\\"", 52], [225, 52], [225, 150], [0, 150]]
house = ["e5"]   # the long wall

[levels]
surface = '40 in'

[frame]
joist = "2x10"

[[stair]]
edge = "e1"   # down to the lawn
at = 24
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "deck.toml"
    path.write_text(ELL)
    return path


@pytest.fixture
def desk(file):
    return Desk(file)


def every_key(found):
    for g in found:
        yield from g["keys"]
        yield from every_key(g["groups"])


def field(desk: Desk, key: str) -> dict:
    return next(k for k in every_key(desk.form()["groups"]) if k["path"] == key)


def write(desk: Desk, **change) -> None:
    desk.write(desk.form()["version"], [change])


# --- the form ---------------------------------------------------------------------------------------------------------


def test_the_form_has_every_key_of_the_schema_and_no_other():
    def paths(model, above):
        inner = sections(model)
        for key in model.model_fields:
            if key not in inner:
                yield f"{above}{key}"
            elif not inner[key][1]:  # of lists there is one for each table that the file has
                yield from paths(inner[key][0], f"{above}{key}.")

    found = groups(b'[outline]\nwidth = 150\ndepth = "10 ft"\n[levels]\nsurface = 30\n')
    assert sorted(k["path"] for k in every_key(found)) == sorted(paths(Parameters, ""))
    more = [g["path"] for g in found if g.get("one_more")]
    assert more == [name for name, (_, many, _) in sections(Parameters).items() if many]


def test_it_says_what_the_file_says_as_it_says_it(desk):
    assert field(desk, "levels.surface")["value"] == "40 in" and field(desk, "levels.surface")["given"]
    assert field(desk, "project.name")["value"] == "Garden room"
    assert field(desk, "stair.0.at")["value"] == "24"
    assert field(desk, "outline.points")["value"].startswith('[["0", 0], ["10\' 6\\"", 0],   # along')
    assert field(desk, "frame.cantilever")["default"] == "1' 0\"" and not field(desk, "frame.cantilever")["given"]
    assert field(desk, "frame.joist")["about"] == "joist stock"
    assert field(desk, "surface.board_width")["default"] == '5 1/2"'


def test_what_was_chosen_for_the_frame_stands_greyed(desk, file):
    write(desk, key="frame.joist")
    desk.built = read(PARAMS / "terrace.toml")
    joist = field(desk, "frame.joist")
    assert joist["value"] == "" and joist["default"] == desk.built.frame.joist == "2x10" and joist["chosen"]


@pytest.mark.parametrize("inches", [0.0, 6.0, 147.5, 12.0625, 3.14159])
def test_lengths_shown_read_back(inches):
    assert parse_length(feet_and_inches(inches)) == pytest.approx(inches, abs=1e-5)
    for old in ("54", '"4\' 6"', '"1.2 m"', "'95 mm'"):
        there = tomllib.loads(f"x = {length_as_there(inches, old)}")["x"]
        assert parse_length(there) == pytest.approx(inches, abs=1e-4)
        assert isinstance(there, str) or old == "54" or inches == 3.14159


@pytest.mark.parametrize(
    ("key", "text", "toml"),
    [
        ("outline.width", "12' 3-1/2\"", '"12\' 3-1/2"'),
        ("outline.width", "12’ 3½”", '"12’ 3½"'),
        ("outline.width", "150", "150"),
        ("frame.knee_braces", "yes", "true"),
        ("frame.joist", "2X10", '"2X10"'),
        ("frame.rim_plies", "2", "2"),
        ("project.name", 'Deck "B" \\ north', '"Deck \\"B\\" \\\\ north"'),
        ("project.number", "12", '"12"'),
        ("guard.edges", '["left"]', '["left"]'),
        ("loads.live_psf", "60", "60"),
        ("levels.slope_x", "1 in 20", '"1 in 20"'),
    ],
)
def test_what_is_typed_becomes_a_line_of_the_file(key, text, toml):
    assert typed(tuple(key.split(".")), text) == toml


# --- writing ----------------------------------------------------------------------------------------------------------


def test_a_change_is_written_and_nothing_else(desk, file):
    write(desk, key="frame.joist", text="2x12")
    assert file.read_text() == ELL.replace('"2x10"', '"2x12"')


def test_a_dragged_corner_changes_its_numbers_in_their_own_manner(desk, file):
    desk.write(
        desk.form()["version"],
        [{"key": "outline.points.2.0", "inches": 131.0}, {"key": "outline.points.2.1", "inches": 54.0}],
    )
    assert file.read_text() == ELL.replace('["10\' 6\\"", 52]', '["10\' 11", 54]')


def test_a_bad_value_leaves_the_file_as_it_was_and_is_told_at_its_key(desk, file):
    for change, key, words in [
        ({"key": "frame.joist", "text": "3x9"}, "frame.joist", "3x9"),
        ({"key": "frame.rim_plies", "text": "many"}, "frame.rim_plies", "wanted a whole number"),
        ({"key": "levels.surface", "text": "4 4"}, "levels.surface", "wanted a length"),
        ({"key": "stair.0.at", "inches": 500}, "stair.0.at", "does not fit"),
        ({"key": "outline.points", "text": "[[0, 0"}, "outline.points", "wanted one value"),
        ({"key": "frame.colour", "text": "red"}, "frame.colour", "no such key"),
        ({"key": "levels.surface"}, "levels.surface", "missing"),
        ({"key": "stair.7.width", "text": "40"}, "stair.7.width", "is not there"),
    ]:
        before = os.stat(file).st_mtime_ns
        with pytest.raises(Refused, match=words) as refused:
            write(desk, **change)
        assert [f.key for f in refused.value.faults] == [key] and not refused.value.stale
        assert file.read_text() == ELL and os.stat(file).st_mtime_ns == before
    assert os.listdir(file.parent) == ["deck.toml"], "nothing is left beside it"


def test_all_of_a_write_or_none(desk, file):
    with pytest.raises(Refused):
        desk.write(desk.form()["version"], [{"key": "frame.joist", "text": "2x12"}, {"key": "frame.post", "text": "x"}])
    assert file.read_text() == ELL


def test_a_write_against_an_older_file_is_refused_and_loses_nothing(desk, file):
    seen = desk.form()["version"]
    edited = ELL.replace("40 in", "44 in")
    file.write_text(edited)
    with pytest.raises(Refused, match="changed meanwhile") as refused:
        desk.write(seen, [{"key": "frame.joist", "text": "2x12"}])
    assert refused.value.stale and file.read_text() == edited
    write(desk, key="frame.joist", text="2x12")
    assert file.read_text() == edited.replace('"2x10"', '"2x12"')


def test_two_pages_at_once_lose_nothing(file):
    """Many writers, each with what it saw: what was not refused stands in the file."""
    desk, done, refused = Desk(file), [], []
    start = threading.Barrier(6)

    def page(n: int) -> None:
        start.wait()
        for k in range(4):
            try:
                desk.write(desk.form()["version"], [{"key": f"local.{KEYS[n]}", "text": str(VALUES[n] + k)}])
                done.append((KEYS[n], VALUES[n] + k))
            except Refused as e:
                assert e.stale
                refused.append(n)

    threads = [threading.Thread(target=page, args=(n,)) for n in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join(SECONDS)
    local = tomllib.loads(file.read_text())["local"]
    assert local == dict(done) and len(done) + len(refused) == 24 and done
    assert file.read_text().startswith(ELL.rstrip("\n"))


KEYS = ["frost_depth", "wind_speed_mph", "guard_height", "guard_post_load_lb", "tread_depth", "stair_width"]
VALUES = [36, 100, 38, 200, 11, 40]


def test_back_and_forth_through_the_file_as_it_was(desk, file):
    write(desk, key="frame.joist", text="2x12")
    by_form = file.read_text()
    file.write_text(by_form.replace("40 in", "42 in"))  # and once in an editor
    by_editor = file.read_text()
    assert desk.form()["undo"] and not desk.form()["redo"]
    desk.back(desk.form()["version"], -1)
    assert file.read_text() == by_form
    desk.back(desk.form()["version"], -1)
    assert file.read_text() == ELL and not desk.form()["undo"]
    with pytest.raises(Refused, match="nothing further"):
        desk.back(desk.form()["version"], -1)
    for then in (by_form, by_editor):
        desk.back(desk.form()["version"], 1)
        assert file.read_text() == then
    desk.back(desk.form()["version"], -1)
    write(desk, key="project.number", text="7")
    assert not desk.form()["redo"], "what is done anew ends what could be done again"


def test_going_back_passes_over_what_was_no_design(desk, file):
    desk.form()
    file.write_text(ELL.replace("40 in", "40 inn"))
    assert desk.form()["faults"][0]["key"] == "levels.surface" and desk.form()["faults"][0]["line"] == 11
    file.write_text(ELL.replace("40 in", "41 in"))
    desk.back(desk.form()["version"], -1)
    assert file.read_text() == ELL


def test_going_back_against_an_older_file_is_refused(desk, file):
    write(desk, key="frame.joist", text="2x12")
    seen = desk.form()["version"]
    file.write_text(ELL + "# by hand\n")
    with pytest.raises(Refused) as refused:
        desk.back(seen, -1)
    assert refused.value.stale and file.read_text() == ELL + "# by hand\n"


def test_a_file_with_faults_is_mended_one_by_one(desk, file):
    file.write_text(ELL.replace("40 in", "40 inn").replace("2x10", "3x9"))
    write(desk, key="levels.surface", text="41 in")
    assert "41 in" in file.read_text() and [f["key"] for f in desk.form()["faults"]] == ["frame.joist"]
    with pytest.raises(Refused):
        write(desk, key="frame.joist", text="3x11")
    write(desk, key="frame.joist", text="2x10")
    assert not desk.form()["faults"] and file.read_text() == ELL.replace("40 in", "41 in").replace("'41 in'", '"41 in"')


def test_a_file_that_is_no_toml_is_told_and_not_written(desk, file):
    file.write_text("[outline\n")
    form = desk.form()
    assert form["groups"] == [] and "is not TOML" in form["faults"][0]["message"]
    with pytest.raises(Refused, match="mend it in an editor"):
        write(desk, key="frame.joist", text="2x12")
    assert file.read_text() == "[outline\n"


def test_line_ends_mode_and_a_link_stay(tmp_path):
    real, link = tmp_path / "real.toml", tmp_path / "deck.toml"
    real.write_bytes(ELL.replace("\n", "\r\n").encode())
    real.chmod(0o640)
    link.symlink_to(real)
    desk = Desk(link)
    write(desk, key="frame.beam", text="2x12")
    assert link.is_symlink() and stat.S_IMODE(real.stat().st_mode) == 0o640
    assert real.read_bytes() == ELL.replace('"2x10"\n', '"2x10"\nbeam = "2x12"\n').replace("\n", "\r\n").encode()


def test_a_length_typed_for_an_edge_keeps_square_corners_square(desk, file):
    desk.write(desk.form()["version"], [{"edge": 0, "text": "11 ft"}])
    assert file.read_text() == ELL.replace("10' 6\\\"", "11' 0")
    p = read(file)
    askew = p.model_copy(update={"outline": p.outline.model_copy(update={"points": [(0, 0), (120, 0), (90, 90)]})})
    assert edge_length(askew, 0, "10' 6\"") == [{"key": "outline.points.1.0", "inches": pytest.approx(126)}]
    with pytest.raises(LengthError):
        edge_length(p, 0, "long")


def test_a_rectangle_takes_a_length_as_it_is_typed(file):
    file.write_text('[outline]\nwidth = "14\' 6"\ndepth = 130\n[levels]\nsurface = 30\n')
    desk = Desk(file)
    desk.write(desk.form()["version"], [{"edge": 2, "text": "15' 1/2\""}])
    desk.write(desk.form()["version"], [{"edge": 1, "text": "131"}])
    assert file.read_text().startswith('[outline]\nwidth = "15\' 1/2"\ndepth = 131\n')


# --- the server -------------------------------------------------------------------------------------------------------


@pytest.fixture
def served(file):
    watch = Watch(file)
    server = Server(watch.feed, 0, watch.desk)
    server.start()
    yield server
    server.stop()


def post(server: Server, body: object, path="/write", **headers):
    import http.client

    host = f"127.0.0.1:{server.server_port}"
    given = {
        "Host": host,
        "Origin": f"http://{host}",
        "X-Plumbcut-Token": server.token,
        "Content-Type": "application/json",
    } | {k.replace("_", "-"): v for k, v in headers.items()}
    text = body if isinstance(body, bytes) else json.dumps(body).encode()
    c = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=SECONDS)
    c.request("POST", path, text, {k: v for k, v in given.items() if v is not None})
    answer = c.getresponse()
    return answer.status, answer.read()


def change(server: Server, **what) -> dict:
    return {"version": version_of(server.desk.text()), "changes": [what]}


def test_the_page_may_write(served, file):
    status, body = post(served, change(served, key="frame.joist", text="2x12"))
    assert status == 200 and file.read_text() == ELL.replace('"2x10"', '"2x12"')
    form = json.loads(body)["form"]
    assert form["version"] == version_of(file.read_bytes()) and form["undo"]
    status, _ = post(served, {"version": form["version"], "step": -1}, "/back")
    assert status == 200 and file.read_text() == ELL


def test_refusals_say_why(served, file):
    status, body = post(served, change(served, key="frame.joist", text="3x9"))
    told = json.loads(body)
    assert status == 422 and told["refused"][0]["key"] == "frame.joist" and told["form"]["version"]
    status, body = post(served, {"version": "older", "changes": [{"key": "frame.joist", "text": "2x12"}]})
    assert status == 409 and "changed meanwhile" in json.loads(body)["message"]
    assert file.read_text() == ELL


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"X_Plumbcut_Token": None}, 403),
        ({"X_Plumbcut_Token": "guessed"}, 403),
        ({"X_Plumbcut_Token": "é"}, 403),
        ({"Origin": None}, 403),
        ({"Origin": "http://example.com"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": "http://127.0.0.1"}, 403),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"Host": "example.com"}, 421),
        ({"Content_Type": "text/plain"}, 415),
        ({"Content_Type": "application/x-www-form-urlencoded"}, 415),
        ({"Content_Length": "many"}, 411),
        ({"Content_Length": str(LARGEST_WRITE + 1)}, 413),
    ],
)
@pytest.mark.parametrize("path", ["/write", "/back"])
def test_nobody_else_may_write(served, file, headers, status, path):
    body = change(served, key="frame.joist", text="2x12") | {"step": -1}
    assert post(served, body, path, **headers)[0] == status
    assert file.read_text() == ELL


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"7",
        {"changes": []},
        {"version": "x"},
        {"version": "x", "changes": ["frame"]},
        {"version": "x", "changes": 3},
        b"[" * 5000,
    ],
)
def test_what_is_no_write_is_refused(served, file, body):
    assert post(served, body)[0] == 400 and file.read_text() == ELL


@pytest.mark.parametrize("key", ["../other.toml", "/etc/passwd", "", "outline", "project.name\nx", "frame.joist.x", 7])
def test_no_key_leads_elsewhere(served, file, key):
    before = sorted(p.name for p in file.parent.iterdir())
    assert post(served, change(served, key=key, text="1"))[0] == 422
    assert file.read_text() == ELL and sorted(p.name for p in file.parent.iterdir()) == before


@pytest.mark.parametrize("path", ["/", "/deck.toml", "/file.json", "/write/", "/write?x", "/model.json"])
def test_there_is_nothing_else_to_write_to(served, path):
    assert post(served, change(served, key="frame.joist", text="2x12"), path)[0] == 501


def test_the_token_stands_in_the_page_alone_and_is_another_each_time(served, file):
    assert served.token.encode() in ask(served)[2]
    assert served.token.encode() not in ask(served, "/file.json")[2] + ask(served, "/model.json")[2]
    other = Server(Watch(file).feed, 0)
    assert other.token != served.token and len(other.token) >= 32
    other.start()
    assert other.token.encode() not in ask(other)[2], "without a file there is nothing to write"
    assert post(other, {}, "/write")[0] == 501
    other.stop()


# --- the page ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def opened(browser, file):  # noqa: F811
    watch, stop = Watch(file), threading.Event()
    server = Server(watch.feed, 0, watch.desk)
    server.start()
    thread = threading.Thread(target=watch.follow, args=(stop,), daemon=True)
    thread.start()
    until(lambda: watch.feed.version >= 2)
    sheet = Sheet(browser, server.url, viewport={"width": 1300, "height": 860})
    sheet.page.set_default_timeout(SECONDS * 1000)
    sheet.page.wait_for_selector("#unmet, .field", state="attached")
    sheet.page.wait_for_selector("#plan .corner")
    sheet.page.wait_for_selector(".field", state="attached")
    places: list = []
    while len(places) < 3 or len(set(places[-3:])) > 1:  # until the plan stays where it is
        sheet.page.wait_for_timeout(200)
        places.append(middle(sheet.page, "[data-corner='3']"))
    yield sheet
    stop.set()
    server.stop()
    sheet.context.close()
    thread.join(SECONDS)


def fill(page, key: str, text: str) -> None:
    page.fill("#key", key)
    place = page.locator(f"[data-path='{key}']")
    place.fill(text)
    place.press("Enter")


def test_a_value_typed_stands_in_the_file_and_a_bad_one_at_its_field(opened, file):
    page = opened.page
    fill(page, "levels.surface", "3' 9\"")
    until(lambda: file.read_text() == ELL.replace("'40 in'", '"3\' 9"'))
    good = file.read_text()
    fill(page, "frame.joist", "3x9")
    fault = page.locator(".field:has([data-path='frame.joist']) .fault")
    fault.wait_for(state="visible")
    assert "3x9" in fault.inner_text() and "Not written" in fault.inner_text() and file.read_text() == good
    assert page.input_value("[data-path='frame.joist']") == "3x9", "what was typed stays to be mended"
    page.locator("[data-path='frame.joist']").press("Escape")
    assert page.input_value("[data-path='frame.joist']") == "2x10" and not fault.is_visible()
    page.click("#undo")
    until(lambda: file.read_text() == ELL)
    page.locator("#redo:not([disabled])").click()
    until(lambda: file.read_text() == good)
    assert [c for c in opened.complaints if "422" not in c] == []


def test_an_edit_in_an_editor_shows_in_the_form_and_what_was_begun_here_does_not_overwrite_it(opened, file):
    page = opened.page
    page.fill("#key", "project.name")
    place = page.locator("[data-path='project.name']")
    place.click()
    place.press_sequentially("s")  # begun, not sent
    file.write_text(ELL.replace("Garden room", "Pond deck").replace("2x10", "2x12"))
    page.fill("#key", "")
    until(lambda: page.input_value("[data-path='frame.joist']") == "2x12")
    word = page.locator("#word")
    word.wait_for(state="visible")  # the field left: its write is refused
    assert "changed meanwhile" in word.inner_text()
    assert "Pond deck" in file.read_text() and "2x12" in file.read_text()


def scale_of(page) -> float:
    """Points of the screen for an inch of the plan, by two corners 99 in apart (of the outline as it is at first)."""
    (a, _), (b, _) = (middle(page, f"[data-corner='{n}']") for n in (2, 3))
    return (b - a) / 99


def middle(page, what: str) -> tuple[float, float]:
    """Where something of the plan is on the screen, asked at once: it is drawn anew with each news of the file."""
    asked = "(w) => { const b = document.querySelector(w).getBoundingClientRect();"
    return tuple(page.evaluate(f"{asked} return [b.x + b.width / 2, b.y + b.height / 2]; }}", what))


def test_a_corner_is_dragged_and_its_numbers_alone_change(opened, file):
    page = opened.page
    per_inch = scale_of(page)
    x, y = middle(page, "[data-corner='3']")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 10 * per_inch, y, steps=4)
    page.mouse.up()
    until(lambda: file.read_text() != ELL)
    assert file.read_text() == ELL.replace("[225, 52]", "[235, 52]")
    page.locator("[data-corner='3']").press("ArrowLeft")
    until(lambda: file.read_text() == ELL.replace("[225, 52]", "[234, 52]"))


def test_a_length_is_typed_and_a_stair_slid(opened, file):
    page = opened.page
    page.locator("[data-edge='5']").click()
    page.fill("#plan .entry", "13'")
    page.locator("#plan .entry").press("Enter")
    after = ELL.replace('["0", 0], ["10\' 6\\"", 0]', '["0", -6], ["10\' 6\\"", -6]')
    assert after != ELL
    until(lambda: file.read_text() == after)
    page.wait_for_selector("#undo:not([disabled])")
    per_inch = scale_of(page)
    x, y = middle(page, "[data-stair='0'] line")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 12 * per_inch, y, steps=4)
    page.mouse.up()
    until(lambda: file.read_text() == after.replace("at = 24", "at = 36"))


def test_a_check_that_is_not_met_stands_at_its_field_and_its_button_takes_what_passes(opened, file):
    page = opened.page
    file.write_text(ELL.replace("at = 24", "at = 24\nrise = 8.5\n"))
    take = page.locator(".field:has([data-path='stair.0.rise']) .take").first
    take.wait_for(state="attached")
    page.fill("#key", "stair.0.rise")
    value = take.inner_text().removeprefix("Take ")
    take.click()
    until(lambda: "8.5" not in file.read_text())
    assert tomllib.loads(file.read_text())["stair"][0]["rise"] == parse_length(value) < 8.5
    page.wait_for_selector(".field:has([data-path='stair.0.rise']) .take", state="detached")
