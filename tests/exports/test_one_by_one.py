"""What either process of a build may do is done once, by the one that asks first."""

import os

import pytest

from plumbcut.exports.beside import OneByOne, beside, can_fork


def _three(done: list):
    return OneByOne([lambda: done.append("a"), lambda: done.append("b"), lambda: done.append("c")])


def test_each_comes_once_and_in_order():
    done: list = []
    for work in _three(done):
        work()
    assert done == ["a", "b", "c"]


def test_what_one_process_took_the_other_does_not_get():
    if not can_fork():
        pytest.skip("this machine cannot fork, or has one core")
    here: list = []
    either, there = _three(here), {}
    taken, tell = os.pipe()

    def work(later):
        next(either)()
        os.write(tell, b".")
        return dict.fromkeys(here, 1.0)

    with beside(work, there.update):
        os.read(taken, 1)
        for rest in either:
            rest()
    os.close(taken)
    os.close(tell)
    assert list(there) == ["a"] and here == ["b", "c"]


def test_none_are_none():
    assert list(OneByOne(())) == []
