"""The binding keeps its promises to Python: threads run on, errors cross processes, arrays are what they say."""

from __future__ import annotations

import ast
import inspect
import pickle
import threading
import time
from pathlib import Path

import numpy as np
import pytest

import underturf as ut
from underturf import _core


@pytest.fixture(scope="module")
def layouts():
    return ut.sample_layouts(ut.read_site(ut.example("green")), draws=100, seed=3)


def test_the_interpreter_is_released_while_the_engine_works(hooks):
    ticks = 0
    stop = threading.Event()

    def count():
        nonlocal ticks
        while not stop.wait(0.002):
            ticks += 1

    thread = threading.Thread(target=count)
    thread.start()
    hooks._spin_for_test(0.4)
    stop.set()
    thread.join()
    assert ticks > 20  # 200 at best; a held interpreter would allow none


def test_progress_reaches_the_callback_on_the_calling_thread(hooks):
    heard = []
    hooks._spin_for_test(0.3, None, lambda done, total: heard.append((done, total, threading.get_ident())))
    assert len(heard) >= 3
    assert [done for done, _, _ in heard] == sorted(done for done, _, _ in heard)
    assert {ident for _, _, ident in heard} == {threading.get_ident()}


def test_an_exception_of_the_callback_stops_the_run_and_comes_back(hooks):
    def refuse(done, total):
        raise LookupError("enough")

    begun = time.monotonic()
    with pytest.raises(LookupError, match="enough"):
        hooks._spin_for_test(30.0, None, refuse)
    assert time.monotonic() - begun < 1.0


@pytest.mark.parametrize("form", ["general", "determinant"])
def test_strikes_stop_soon_in_either_form(layouts, form):
    holes = [ut.Hole(3 + 1e-4 * k, 3, 0.3, 0.4) for k in range(30_000)]
    asked = []

    def refuse(done, total):
        if time.monotonic() - begun > 0.3:
            asked.append(time.monotonic())
            raise LookupError("enough")

    begun = time.monotonic()
    with pytest.raises(LookupError, match="enough"):
        layouts.strike_probability(holes, form=form, run=ut.Running(progress=refuse))
    assert time.monotonic() - asked[0] < 0.6  # 0.03 s on a quiet machine; the rest is for a loaded one


@pytest.mark.parametrize(
    "error",
    [
        ut.SiteError([("heads[0].x", "is missing"), ("", "whole")]),
        ut.LayoutError("no way round", "zone 1", "obstacles[0]", ["a", "b"]),
        ut.DigError("no depth"),
        ut.ArgumentError("draws"),
        ut.DocumentSyntaxError("line 1"),
        ut.InternalError("oops"),
    ],
)
def test_errors_survive_pickling(error):
    copy = pickle.loads(pickle.dumps(error))  # noqa: S301  our own bytes
    assert type(copy) is type(error)
    assert str(copy) == str(error)
    assert vars(copy) == vars(error)
    assert isinstance(error, ut.UnderturfError)
    assert isinstance(error, Exception)


def test_sites_and_digs_survive_pickling():
    site = ut.read_site(ut.example("terrace"))
    dig = ut.Trench([[0, 0], [1, 2]], 0.2, 0.4, id="t")
    assert pickle.loads(pickle.dumps((site, dig))) == (site, dig)  # noqa: S301  our own bytes


def test_maps_are_read_only_and_c_ordered(layouts):
    smap = layouts.strike_map(0.3, 0.4, 0.5)
    for array in (smap.p, smap.mcse, smap.upper, smap.in_tolerance_zone):
        assert array.flags.c_contiguous
        assert array.shape == (smap.y_m.size, smap.x_m.size)
        with pytest.raises(ValueError, match="read-only"):
            array[0, 0] = 0
    assert smap.p.dtype == np.float64
    assert smap.in_tolerance_zone.dtype == np.bool_
    assert np.isnan(smap.p[smap.in_tolerance_zone]).all()


def test_map_cells_are_the_chances_of_holes_at_their_centres():
    # Coarse grids of bearings and headers make the sums of the determinant form short; there are several of both all the same.
    document = ut.read_site(ut.example("green")).to_dict()
    document["settings"] = {**document.get("settings", {}), "grid_step_deg": 2.0, "header_step_m": 1.0}
    layouts = ut.sample_layouts(ut.Site.from_dict(document), draws=100, seed=3)
    assert len(layouts.bearings()) > 2
    smap = layouts.strike_map(0.3, 0.4, 0.5)
    rows, cols = np.nonzero(np.isfinite(smap.p))
    chosen = np.linspace(0, rows.size - 1, 40).astype(int)
    holes = [ut.Hole(smap.x_m[c], smap.y_m[r], 0.3, 0.4) for r, c in zip(rows[chosen], cols[chosen], strict=True)]
    exact = layouts.strike_probability(holes, form="determinant")
    # 100 draws: sd of a share at most 0.05; 40 cells at 4.5 sd: false alarms below 3e-4. A map out by one cell of 0.5 m
    # or upside down differs by 0.5 and more beside rows of heads.
    assert np.abs(smap.p[rows[chosen], cols[chosen]] - exact).max() < 4.5 * 0.05 + 0.01


def test_digs_without_a_name_are_named_by_their_place(layouts):
    holes = [ut.Hole(2, 2, 0.2, 0.3), ut.Hole(3, 2, 0.2, 0.3, id="mine"), ut.Hole(4, 2, 0.2, 0.3)]
    assert list(layouts.strikes(holes).index) == ["dig1", "mine", "dig3"]
    assert layouts.strike_probability("maple").shape == (1,)


def test_digs_from_strided_and_misaligned_arrays_are_those_of_plain_ones():
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]])
    wide = np.zeros((3, 4))
    wide[:, ::2] = corners
    raw = np.zeros(corners.nbytes + 1, np.uint8)
    crooked = raw[1:].view(np.float64).reshape(3, 2)
    crooked[:] = corners
    assert not crooked.flags.aligned
    plain = ut.Pit(corners, 0.4)
    for array in (wide[:, ::2], np.asfortranarray(corners), crooked, corners.tolist()):
        assert ut.Pit(array, 0.4) == plain
    with pytest.raises(ut.DigError, match="misaligned"):
        _core.Dig.pit(crooked, 0.4, "x", "hand")


def test_every_name_of_the_engine_has_a_wrapper_and_a_type():
    package = Path(inspect.getfile(ut)).parent
    source = "\n".join(path.read_text() for path in package.rglob("*.py"))
    stub = ast.parse((package / "_core.pyi").read_text())
    typed = {node.name for node in stub.body if isinstance(node, ast.ClassDef | ast.FunctionDef)}
    public = [name for name in vars(_core) if not name.startswith("_")]
    assert len(public) >= 7  # it looked at something
    for name in public:
        assert f"_core.{name}" in source, f"no wrapper uses {name}"
        thing = getattr(_core, name)
        assert not callable(thing) or name in typed
        if inspect.isclass(thing):
            members = [member for member in vars(thing) if not member.startswith("_")]
            assert members
            assert all(f".{member}" in source for member in members), name


def test_classes_of_the_engine_are_frozen(layouts):
    for thing in (layouts._handle, layouts.site._handle, layouts.site._handle.digs()[0]):
        with pytest.raises(AttributeError):
            thing.draws = 3
        with pytest.raises(AttributeError):
            thing.anything = 3


def test_every_exported_name_exists_and_is_documented():
    assert list(ut.__all__) == sorted(ut.__all__, key=lambda name: (not name.isupper(), name))
    for name in ut.__all__:
        thing = getattr(ut, name)
        assert not callable(thing) or inspect.getdoc(thing), name
