"""Types of the engine's binding, checked against it by mypy's stubtest. Private: use what `underturf` exports."""

from collections.abc import Callable, Sequence
from typing import Any, Literal, TypeAlias, final

import numpy as np
import numpy.typing as npt

__all__ = [
    "CLASSES",
    "KINDS",
    "Dig",
    "Layouts",
    "Site",
    "StrikeMap",
    "_panic_for_test",
    "_spin_for_test",
    "combined_stem",
    "critical_root_zone",
    "default_weights",
    "diagnose",
    "root_ball",
    "root_protection",
    "sample_layouts",
    "set_memory_limit",
    "setbacks",
    "settings_table",
]

_Progress: TypeAlias = Callable[[int, int], object] | None
_Floats: TypeAlias = npt.NDArray[np.float64]
_Size: TypeAlias = Literal["small", "medium", "large"]
_Vigour: TypeAlias = Literal["aggressive", "ordinary", "small"]
_Tree: TypeAlias = tuple[str, str | None, float | None, float | None, float | None] | None
_Grown: TypeAlias = tuple[_Size, _Vigour, float | None, float | None, float | None] | None
_Weights: TypeAlias = Sequence[tuple[str, float]]

CLASSES: list[str]
KINDS: list[str]

@final
class Dig:
    @staticmethod
    def hole(
        x_m: float, y_m: float, radius_m: float, depth_m: float, id: str, method: str, tree: _Tree = None
    ) -> Dig: ...
    @staticmethod
    def pit(outline_m: _Floats, depth_m: float, id: str, method: str, tree: _Tree = None) -> Dig: ...
    @staticmethod
    def trench(path_m: _Floats, width_m: float, depth_m: float, id: str, method: str, tree: _Tree = None) -> Dig: ...
    @property
    def id(self) -> str: ...
    @property
    def kind(self) -> Literal["hole", "trench", "pit"]: ...
    @property
    def depth_m(self) -> float: ...
    @property
    def method(self) -> Literal["hand", "machine"]: ...
    @property
    def tree(self) -> _Grown: ...
    @property
    def half_width_m(self) -> float: ...
    @property
    def points_m(self) -> _Floats: ...

@final
class Site:
    @staticmethod
    def from_toml(text: str) -> Site: ...
    @staticmethod
    def from_json(text: str) -> Site: ...
    def to_toml(self) -> str: ...
    def to_json(self) -> str: ...
    @property
    def name(self) -> str | None: ...
    @property
    def units(self) -> str: ...
    @property
    def unit_m(self) -> float: ...
    @property
    def half_zone_m(self) -> float: ...
    def chance_of_contradictions(self, test: int) -> float: ...
    @property
    def warnings(self) -> list[str]: ...
    def ties(self, points_m: Sequence[tuple[float, float]]) -> dict[str, Any]: ...
    def digs(self) -> list[Dig]: ...
    def dig(self, id: str) -> Dig: ...

@final
class StrikeMap:
    @property
    def p(self) -> _Floats: ...
    @property
    def mcse(self) -> _Floats: ...
    @property
    def upper(self) -> _Floats: ...
    @property
    def in_tolerance_zone(self) -> npt.NDArray[np.bool_]: ...
    @property
    def x0_m(self) -> float: ...
    @property
    def y0_m(self) -> float: ...
    @property
    def cell_m(self) -> float: ...

@final
class Layouts:
    @property
    def draws(self) -> int: ...
    @property
    def seed(self) -> int: ...
    @property
    def warnings(self) -> list[str]: ...
    @property
    def assessed(self) -> list[bool]: ...
    @property
    def systems(self) -> list[str]: ...
    @property
    def effort(self) -> float: ...
    @property
    def effort_spent(self) -> float: ...
    @property
    def effective_draws(self) -> float: ...
    @property
    def bearings(self) -> list[tuple[float, float, float]]: ...
    def chance_of_probe(self, site: Site, probe: int) -> float: ...
    def chance_by_known_lines(self, site: Site, probe: int) -> float: ...
    @property
    def passed(self) -> bool | None: ...
    def convergence(self) -> dict[str, Any] | None: ...
    @property
    def zones(self) -> list[tuple[str, bool, list[str]]]: ...
    @property
    def heads(self) -> list[str]: ...
    def zonings(self) -> tuple[npt.NDArray[np.int64], _Floats]: ...
    def segments(self) -> dict[str, Any]: ...
    def in_tolerance_zone(self, digs: Sequence[Dig]) -> list[bool]: ...
    def strike(self, digs: Sequence[Dig], form: str, threads: int | None, progress: _Progress) -> dict[str, Any]: ...
    def assess(
        self,
        digs: Sequence[Dig],
        weights: _Weights,
        setback: str,
        reach_m: float,
        cell_m: float,
        threads: int | None,
        progress: _Progress,
    ) -> dict[str, Any]: ...
    def tree_conflicts(
        self, digs: Sequence[Dig], setback: str, threads: int | None, progress: _Progress
    ) -> dict[str, Any]: ...
    def rank(
        self,
        digs: Sequence[Dig],
        weights: _Weights,
        by: str,
        longest_draws: int | None,
        threads: int | None,
        progress: _Progress,
    ) -> dict[str, Any]: ...
    def best_spots(
        self,
        n: int,
        radius_m: float,
        depth_m: float,
        spacing_m: float,
        margins_m: tuple[float, float],
        cell_m: float,
        weights: _Weights,
        method: str,
        within: Dig | None,
        tree: Dig | None,
        setback: tuple[str, float] | None,
        roots: tuple[float, bool],
        threads: int | None,
        progress: _Progress,
    ) -> dict[str, Any]: ...
    def likely_lines(
        self, least_chance: float, step_m: float, reach_m: float, threads: int | None, progress: _Progress
    ) -> dict[str, Any]: ...
    def plan_probes(
        self,
        digs: Sequence[Dig],
        n: int,
        radius_m: float,
        depth_m: float | None,
        tool: tuple[tuple[float, float] | None, bool, float | None, float | None],
        objective: str,
        grid_m: tuple[float, float | None, float],
        weights: _Weights,
        costs: tuple[float, float],
        always: bool,
        threads: int | None,
        progress: _Progress,
    ) -> dict[str, Any]: ...
    def shifted(
        self,
        digs: Sequence[Dig],
        reach_m: float,
        cell_m: float,
        weights: _Weights,
        threads: int | None,
        progress: _Progress,
    ) -> list[Dig]: ...
    def plan_station_tests(
        self, digs: Sequence[Dig], weights: _Weights, threads: int | None, progress: _Progress
    ) -> dict[str, Any]: ...
    def strike_map(
        self,
        radius_m: float,
        depth_m: float,
        cell_m: float,
        classes: Sequence[str] | None,
        threads: int | None,
        progress: _Progress,
    ) -> StrikeMap: ...
    def dig_maps(
        self,
        digs: Sequence[Dig],
        reach_m: float,
        cell_m: float,
        weights: _Weights,
        threads: int | None,
        progress: _Progress,
    ) -> list[tuple[StrikeMap, tuple[float, float, float, float] | None]]: ...

def sample_layouts(
    site: Site,
    draws: int,
    seed: int,
    threads: int | None,
    progress: _Progress,
    longest: int,
    accept_unconverged: bool,
    effort: float,
    gates: tuple[float, float, float, float] | None = None,
) -> Layouts: ...
def set_memory_limit(limit: int | None) -> int | None: ...
def critical_root_zone(stem_diameter_m: float, feet_per_inch: float) -> float: ...
def default_weights() -> list[tuple[str, float]]: ...
def root_ball(
    caliper_in: float | None, container: float | None, table: str | None, width_factor: float
) -> dict[str, Any]: ...
def combined_stem(stems_m: Sequence[float]) -> float: ...
def root_protection(stem_diameter_m: float) -> float: ...
def setbacks() -> list[tuple[str, list[float | None], float | None, bool, str, str]]: ...
def diagnose(chains: _Floats) -> dict[str, float]: ...
def settings_table() -> list[tuple[str, float, float, float, str, str]]: ...
def _panic_for_test() -> None: ...
def _spin_for_test(seconds: float, threads: int | None = None, progress: _Progress = None) -> int: ...
