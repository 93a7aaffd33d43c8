"""Plans and maps as files of pictures."""

from __future__ import annotations

from pathlib import Path

import underturf as ut
from underturf._atomic import replacing
from underturf._extras import needs

__all__ = ["PICTURES", "picture"]

#: What names of pictures may end in.
PICTURES = (".png", ".pdf", ".svg")


def picture(thing: ut.Layouts | ut.StrikeMap, path: Path, **options: object) -> Path:
    """Draw something and write it as a picture."""
    needs("a picture", "matplotlib")
    import matplotlib

    matplotlib.use("agg")
    from matplotlib import pyplot

    thing.plot(**options)  # type: ignore[arg-type]
    figure = pyplot.gcf()
    try:
        with replacing(path) as temporary:
            figure.savefig(temporary, dpi=150)
    finally:
        pyplot.close(figure)
    return path
