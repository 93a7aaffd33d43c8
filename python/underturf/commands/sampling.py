"""From what a command was given to sampled layouts, and how its calls run."""

from __future__ import annotations

import click

import underturf as ut
from underturf.commands.digs_file import read_digs
from underturf.commands.given import Given
from underturf.commands.reading import site_name
from underturf.dig_lists import Digs

#: What says how layouts are drawn.
HOW_DRAWN = ("draws", "seed", "longest", "effort", "accept_unconverged")

__all__ = ["asked_digs", "rules", "running", "sampled"]


def sampled(given: Given, site: ut.Site) -> ut.Layouts:
    """Sample layouts as asked, or take those that a file keeps.

    Raises
    ------
    UsageError
        If layouts were drawn already, and it is said how they should be drawn.
    """
    kept: ut.Layouts | None = given.state.layouts
    if kept is not None:
        told = click.get_current_context().get_parameter_source
        drawn = [name for name in HOW_DRAWN if told(name) is click.core.ParameterSource.COMMANDLINE]
        if drawn:
            flags = ", ".join(f"--{name.replace('_', '-')}" for name in drawn)
            raise click.UsageError(
                f"{flags}: the layouts of {site_name(given)} are drawn already; give the site document"
            )
        return kept
    return ut.sample_layouts(
        site,
        given.draws,
        given.seed,
        accept_unconverged=given.accept_unconverged,
        longest=given.longest,
        effort=given.effort,
        run=running(given),
    )


def running(given: Given) -> ut.Running:
    """Return how calls run; the command as a whole is held to the memory allowed."""
    return ut.Running(threads=given.threads, progress=given.progress)


def rules(given: Given) -> ut.TreeRules:
    """Return what trees ask of their places."""
    return ut.TreeRules(given.setback, given.setback_limit)


def asked_digs(given: Given, site: ut.Site, needed: bool = True) -> Digs:
    """Return the digs that a command is asked about; None stands for the site's own.

    Raises
    ------
    DigError
        If a name is unknown, or the site proposes no digs where some are needed.
    ArgumentError
        If both names and a file are given, or the file holds no digs.
    """
    if given.digs_file is not None:
        if given.digs:
            raise ut.ArgumentError("--dig names digs of the site, --digs a file of others; give one of them")
        return read_digs(given.digs_file, site.unit_m)
    for name in given.digs:
        site._handle.dig(name)  # an unknown name is told before the work
    if not given.digs and needed and not site.dig_ids:
        name = site_name(given).rpartition("/")[2]
        raise ut.DigError(f"{name} proposes no digs; add them under [[digs]]")
    return list(given.digs) or None
