"""Types of the engine's binding, checked against it by mypy's stubtest. Private: use what `underturf` exports."""

from collections.abc import Callable

__all__ = ["_panic_for_test", "_spin_for_test"]

def _panic_for_test() -> None: ...
def _spin_for_test(
    seconds: float, threads: int | None = None, progress: Callable[[int, int], object] | None = None
) -> int: ...
