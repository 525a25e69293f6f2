"""Changes of the project: in the engineering computer alone, or there and in the controller."""

from __future__ import annotations

from dataclasses import replace

from helpers.line.plant.installation import Installation, Project


def edited(installation: Installation, station: str = "", **changes: object) -> Installation:
    """Something changed in the engineering computer: at one station, or at the project itself if none is named.

    The controller goes on with what is loaded in it.
    """
    return replace(installation, edited=_changed(installation.edited, station, changes))


def both(installation: Installation, station: str = "", **changes: object) -> Installation:
    """Something changed in the engineering computer and in the controller."""
    changed = edited(installation, station, **changes)
    if installation.loaded is installation.edited:
        return replace(changed, loaded=changed.edited)
    return replace(changed, loaded=_changed(installation.loaded, station, changes))


def _changed(project: Project, station: str, changes: dict[str, object]) -> Project:
    if station:
        return project.with_station(station, **changes)
    return replace(project, **changes)  # type: ignore[arg-type]
