"""What either process of a build may do is done once, by the one that asks first; what the second was begun with on the
chance that it is wanted is given up for the next."""

import os
import signal
import time

import pytest

from plumbcut.exports import build
from plumbcut.exports.beside import OneByOne, beside, can_fork
from plumbcut.model.input.parameters import Parameters

LARGE_FOOTINGS = {  # an L round a corner of the house, whose footings are made smaller once all on them is known
    "outline": {
        "points": [[0, 0], [153, 0], [153, 178], [83, 178], [83, 98], [0, 98]],
        "edges": ["front", "right", "end", "wall", "house", "left"],
        "house": ["wall", "house"],
    },
    "levels": {"surface": 38},
    "frame": {"joist": "2x8"},
}
FORKS = pytest.mark.skipif(not can_fork(), reason="this machine cannot fork, or has one core")


def _three(done: list):
    return OneByOne([lambda: done.append("a"), lambda: done.append("b"), lambda: done.append("c")])


def test_each_comes_once_and_in_order():
    done: list = []
    for work in _three(done):
        work()
    assert done == ["a", "b", "c"]


@FORKS
def test_what_one_process_took_the_other_does_not_get():
    here: list = []
    either, there = _three(here), {}
    taken, tell = os.pipe()

    def work(later):
        next(either)()
        os.write(tell, b".")
        return dict.fromkeys(here, 1.0)

    with beside(there.update) as second:
        second.begin(work)
        os.read(taken, 1)
        for rest in either:
            rest()
    os.close(taken)
    os.close(tell)
    assert list(there) == ["a"] and here == ["b", "c"]


def test_none_are_none():
    assert list(OneByOne(())) == []


def _gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False


@FORKS
def test_work_begun_anew_is_given_up_and_its_process_gone():
    told: dict = {}
    said, tell = os.pipe()

    def first(later):
        os.write(tell, os.getpid().to_bytes(8, "big"))
        signal.pause()
        return {"first": 1.0}

    with beside(told.update) as second:
        second.begin(first)
        pid = int.from_bytes(os.read(said, 8), "big")
        second.begin(lambda later: {later("name"): 2.0})
        assert _gone(pid)
        second.hand("other", "not asked for")
        second.hand("name", "second")
    assert told == {"second": 2.0}
    os.close(said)
    os.close(tell)


@FORKS
def test_what_is_begun_ends_with_a_block_that_fails():
    said, tell = os.pipe()

    def work(later):
        os.write(tell, os.getpid().to_bytes(8, "big"))
        time.sleep(60)

    with pytest.raises(ValueError), beside(print) as second:
        second.begin(work)
        pid = int.from_bytes(os.read(said, 8), "big")
        raise ValueError
    assert _gone(pid)
    os.close(said)
    os.close(tell)


def test_without_a_second_core_the_work_is_done_at_the_end(monkeypatch):
    monkeypatch.setattr("plumbcut.exports.beside.can_fork", lambda: False)
    done: dict = {}
    with beside(done.update) as second:
        second.begin(lambda later: {"never": 0.0})
        second.begin(lambda later: {later("name"): 1.0})
        second.hand("name", "here")
        assert done == {}
    assert done == {"here": 1.0}


def test_a_block_that_hands_nothing_over_is_said():
    with pytest.raises((RuntimeError, KeyError), match="checks"), beside(print) as second:
        second.begin(lambda later: {later("checks"): 1.0})


@FORKS
def test_a_deck_drawn_on_the_chance_comes_out_as_one_drawn_once_it_is_chosen(tmp_path, monkeypatch):
    """A frame that holds, and another that is chosen: what is drawn of the first deck is given up for the second, and
    nothing of it is left. Drawn once it is chosen, all files are the same."""
    given = Parameters.model_validate(LARGE_FOOTINGS)
    begun: list[int] = []
    begin = build.Beside.begin

    def counted(self, work):
        begun.append(1)
        begin(self, work)

    monkeypatch.setattr(build.Beside, "begin", counted)
    made = {}
    for name, least in (("chance", 0), ("chosen", 10**9)):
        monkeypatch.setattr(build, "WORTH_A_CHANCE", least)
        begun.clear()
        result = build.write_all(given, tmp_path / name, build.Stages())
        made[name] = {str(f.relative_to(tmp_path / name)): f.read_bytes() for f in _files(tmp_path / name)}
        assert result.deck.chosen and (len(begun) > 1 if least == 0 else len(begun) == 1)
    assert made["chance"].keys() == made["chosen"].keys()
    assert [k for k in made["chance"] if made["chance"][k] != made["chosen"][k]] == []


def _files(folder):
    return [f for f in folder.rglob("*") if f.is_file() and not f.name.startswith(".")]
