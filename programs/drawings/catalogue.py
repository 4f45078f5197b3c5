"""All drawings by key, and how they are written and compared."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from ..library import exercise
from . import close, facing, lying, side_lying, squats, standing, steps
from .picture import Scene, picture, picture_on_white

FOLDER = Path(__file__).parent.parent.parent / "static" / "drawings"
SCENES: Mapping[str, Scene] = (
    side_lying.SCENES
    | lying.SCENES
    | facing.SCENES
    | standing.SCENES
    | squats.SCENES
    | steps.SCENES
    | close.SCENES
)


def drawings() -> dict[str, str]:
    """Every file by name, each titled with the name of its entry."""
    return {
        f"{key}.svg": picture(scene, key=key, title=exercise(key).name)
        for key, scene in sorted(SCENES.items())
    }


@cache
def drawing_on_white(key: str) -> str:
    """Return the drawing of a key for paper, or nothing where there is none."""
    scene = SCENES.get(key)
    return picture_on_white(scene) if scene else ""


def write(folder: Path = FOLDER) -> int:
    """Write every file and take away those that no scene makes; return how many."""
    files = drawings()
    folder.mkdir(parents=True, exist_ok=True)
    for path in folder.glob("*.svg"):
        if path.name not in files:
            path.unlink()
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return len(files)
