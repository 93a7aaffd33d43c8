"""A survey that was brought in: its site, and the report of what was taken, left, merged and changed."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from underturf._atomic import replacing
from underturf._checks import as_path, document_ending, flag
from underturf._extras import needs
from underturf.site import JsonValue, Site
from underturf.survey.report import SurveyReport
from underturf.toml_style import fresh_toml, kept_toml

__all__ = ["Survey"]


@dataclass(frozen=True, slots=True, repr=False)
class Survey:
    r"""What `read_survey` returns.

    Attributes
    ----------
    site : Site
        The site.
    report : SurveyReport
        What became of everything in the files.

    Examples
    --------
    >>> import pathlib, tempfile, underturf as ut
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "heads.csv")
    ...     _ = file.write_text("id,x_ft,y_ft,code\nh1,10,20,SPR\nh2,22,20,SPR\nn1,5,5,NAIL\n")
    ...     survey = ut.read_survey(file)
    >>> survey
    <Survey: 2 heads, in ft; 2 taken, 1 left, 0 merged, 0 changed>
    >>> survey.site.to_dict()["heads"][0]
    {'id': 'h1', 'x': 10.0, 'y': 20.0, 'kind': 'spray'}
    """

    site: Site
    report: SurveyReport
    _origins: Mapping[tuple[str, int], str] = field(default_factory=dict, compare=False)

    @property
    def document(self) -> dict[str, JsonValue]:
        """The site document as Python dicts and lists, a copy of its own."""
        return self.site.to_dict()

    def write(self, path: str | os.PathLike[str], *, keep_comments: bool = True) -> Path:
        r"""Write the site document; a new TOML file has a comment at each entry that names the file it came from.

        Parameters
        ----------
        path : str or path
            A name that ends in ``.toml`` or ``.json``.
        keep_comments : bool, optional
            Where a TOML file is there already, keep its comments, its order and its way of writing, as `Site.write` does.

        Returns
        -------
        Path
            The file written.

        Raises
        ------
        ArgumentError
            If the name ends in anything else, or comments cannot be kept.
        OSError
            If the file cannot be written.

        Examples
        --------
        >>> import pathlib, tempfile, underturf as ut
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     file = pathlib.Path(folder, "heads.csv")
        ...     _ = file.write_text("id,x_m,y_m,code\nh1,3,4,ROT\n")
        ...     print(ut.read_survey(file).write(f"{folder}/site.toml").read_text())
        # Brought in from surveys; each comment names the file and the place in it.
        format = "underturf-site/2"
        units = "m"
        heads = [
          {id = "h1", x = 3.0, y = 4.0, kind = "rotor"}, # heads.csv, row 2
        ]
        """
        path = as_path(path)
        if document_ending(path) == ".json":
            self.site.write(path)
            return path
        if flag(keep_comments, "keep_comments") and path.is_file():
            text = kept_toml(path, self.document, self.site.to_toml(), self._remark)
        else:
            try:
                needs("comments", "tomlkit")
                head = ["Brought in from surveys; each comment names the file and the place in it."]
                text = fresh_toml(self.document, self._remark, head)
            except ImportError:
                text = self.site.to_toml()
        with replacing(path) as part:
            part.write_text(text, encoding="utf-8")
        return path

    def _remark(self, key: str, index: int) -> str:
        """Return where an entry came from."""
        return self._origins.get((key, index), "").replace("\n", " ")

    def __repr__(self) -> str:
        held = repr(self.site).rpartition(": ")[2].removesuffix(">")
        counts = ", ".join(f"{count} {action}" for action, count in self.report.counts().items())
        return f"<Survey: {held}, in {self.site.units}; {counts}>"

    def _repr_html_(self) -> str:
        return self.report._repr_html_()
