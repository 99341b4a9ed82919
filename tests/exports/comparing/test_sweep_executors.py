"""A sweep gives the same figures whatever executor of `concurrent.futures` does the work, and says what of the frame
each value asked for."""

from __future__ import annotations

import importlib.util
import os
import xml.etree.ElementTree as ET
from concurrent.futures import Executor, Future, ThreadPoolExecutor

import pytest
from click.testing import CliRunner

from plumbcut.exports.command import main
from plumbcut.exports.comparing import sweep
from plumbcut.exports.comparing.sweep_plot import along, rows, table, write_sweep
from plumbcut.shared.errors import InputError

# under a stair at the side of a deep deck a single rim is not met: there two plies are chosen
FILE = """
[outline]
width = 150
depth = 100
[levels]
surface = 44
[[stair]]
edge = "left"
width = 48
"""
VARIANTS = tuple((("outline.depth", f"{d}in"),) for d in (86, 110, 139))


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    found = tmp_path_factory.mktemp("sweep") / "deck.toml"
    found.write_text(FILE)
    return found


@pytest.fixture(scope="module")
def alone(path):
    return [sweep.figures(path, label) for label in VARIANTS]


def test_threads_give_what_each_variant_alone_gives(path, alone):
    told = []
    with ThreadPoolExecutor(2) as pool:
        assert sweep.sweep(path, VARIANTS, told.append, executor=pool) == alone
        assert pool.submit(int, "7").result() == 7, "the caller's executor is left open"
    assert told == [1, 2, 3]


def test_processes_give_the_same(path, alone):
    assert sweep.sweep(path, VARIANTS, processes=2) == alone


@pytest.mark.skipif(
    importlib.util.find_spec("distributed") is None and not os.environ.get("CI"), reason="Dask is not installed"
)
def test_dasks_local_cluster_gives_the_same(path, alone):
    from distributed import Client, LocalCluster

    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
        client.get_executor() as pool,
    ):
        assert sweep.sweep(path, VARIANTS, executor=pool) == alone


class _Broken(Executor):
    """Does the first job and loses its worker at the second; the third waits."""

    def __init__(self):
        self.given: list[Future] = []

    def submit(self, fn, /, *args, **kwargs):
        job: Future = Future()
        if not self.given:
            job.set_result(fn(*args, **kwargs))
        elif len(self.given) == 1:
            job.set_exception(RuntimeError("a worker was lost"))
        self.given.append(job)
        return job


def test_a_lost_worker_is_said_and_the_rest_called_off(path):
    pool = _Broken()
    with pytest.raises(RuntimeError, match="a worker was lost"):
        sweep.sweep(path, VARIANTS, executor=pool)
    assert pool.given[2].cancelled()


def test_each_variant_has_a_frame_of_its_own(path, alone):
    """A deeper deck wants more lumber, and one deep enough another rim beside its stair; its table says which."""
    assert alone[0].timber < alone[1].timber < alone[2].timber
    assert all(f.footings >= 2 and not f.not_met for f in alone)
    assert "frame." in alone[2].chosen and alone[0].chosen != alone[2].chosen
    assert f"outline.depth=139in: chosen {alone[2].chosen}" in table(alone)


def test_what_a_value_costs_is_drawn_without_a_price_list_too(alone, tmp_path):
    write_sweep(alone, tmp_path, "deck")
    drawn = ET.fromstring((tmp_path / "sweep.svg").read_text())
    words = " ".join(e.text or "" for e in drawn.iter("{http://www.w3.org/2000/svg}text"))
    assert "Lumber of the frame, board feet" in words and "139in" in words
    assert (tmp_path / "sweep.png").read_bytes()[:4] == b"\x89PNG"


@pytest.mark.parametrize(
    "values, places",
    [
        (["10ft", "11ft", "14ft"], [1 / 6, 1 / 6 + 2 / 3 * 0.25, 5 / 6]),
        (["2x8", "2x10", "2x12"], [1 / 6, 0.5, 5 / 6]),
        (["10ft", "10ft 1/2in", "14ft"], [1 / 6, 0.5, 5 / 6]),
        (["14ft", "10ft"], [0.25, 0.75]),
    ],
    ids=str,
)
def test_lengths_stand_to_scale_where_they_can(values, places):
    assert along(values) == pytest.approx(places)


def test_the_price_over_the_first_is_told():
    found = [sweep.Figures((("a", str(n)),), price=p) for n, p in enumerate((500.0, 650.0, None, 480.0))]
    header, body = rows(found)
    over = header.index("over the first")
    assert [r[over] for r in body] == [0.0, 150.0, None, -20.0]


@pytest.mark.parametrize(
    "vary",
    [
        ["outline.depth=wide,100"],
        ["outline.depth="],
        ["outline.nosuch=1"],
        ["house.wall=straw,siding"],
        ["a=1", "a=2"],
    ],
    ids=str,
)
def test_a_bad_value_is_one_line_and_ends_with_2(vary, path, tmp_path):
    given = [x for v in vary for x in ("--vary", v)]
    done = CliRunner().invoke(main, ["compare", str(path), *given, "--out", str(tmp_path / "out")])
    assert done.exit_code == 2 and len(done.output.strip().splitlines()) == 1 and "--vary" in done.output
    assert not (tmp_path / "out").exists()


def test_a_bad_file_is_no_matter_of_the_executor(tmp_path):
    missing = tmp_path / "none.toml"
    with ThreadPoolExecutor(1) as pool:
        [found] = sweep.sweep(missing, VARIANTS[:1], executor=pool)
    assert "no such file" in found.fault and found.price is None
    with pytest.raises(InputError, match="no such file"):
        sweep.checked(missing, VARIANTS)
