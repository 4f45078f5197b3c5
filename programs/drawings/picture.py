"""Puts two positions side by side in one picture of fixed size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from .figure import HEAD, Body, Point, Pose, body
from .ink import Dot, Mark, Stroke, svg, svgs

WIDTH, HEIGHT, PANEL = 360, 200, 180
HALO = 2.6  # the gap round what lies in front
WHITE = "#fff"
LABEL, LABEL_ON_WHITE = 15, 32  # the numbers of the positions; larger on paper
LIMB_WIDTHS = {"leg": (13.0, 10.0, 8.0), "arm": (8.0, 7.0)}
TRUNK_WIDTH = 17.0


@dataclass(frozen=True, slots=True)
class Panel:
    """One position with what is behind it, what is before it, and the arrows."""

    pose: Pose | None
    behind: tuple[Mark, ...] = ()
    before: tuple[Mark, ...] = ()
    arrows: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Scene:
    """A drawing: the start and the end, or one position that is held."""

    panels: tuple[Panel, ...]


def picture(scene: Scene, *, key: str, title: str) -> str:
    """Return the whole SVG file; ids carry the key, so that several fit a page."""
    parts = [
        _panel(panel, f"{key}-{at}", shift, at if len(scene.panels) > 1 else None)
        for at, (panel, shift) in enumerate(_placed(scene), 1)
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}"'
        f' role="img" aria-labelledby="{key}-title">\n'
        f'<title id="{key}-title">{escape(title)}</title>\n'
        f'<g stroke-linecap="round" stroke-linejoin="round">\n'
        f"{''.join(parts)}</g>\n</svg>\n"
    )


def picture_on_white(scene: Scene) -> str:
    """Return the SVG for white paper: the gaps are white ink instead of masks.

    It has no ids and no title: it stands beside its words, as often as wanted, and
    in programs that do not know masks.
    """
    parts = [
        _panel_on_white(panel, shift, at if len(scene.panels) > 1 else None)
        for at, (panel, shift) in enumerate(_placed(scene), 1)
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}"'
        f' aria-hidden="true" focusable="false">'
        f'<g stroke-linecap="round" stroke-linejoin="round">{"".join(parts)}</g></svg>'
    )


def _placed(scene: Scene) -> list[tuple[Panel, float]]:
    """Return every panel with how far right it stands; a single one in the middle."""
    if len(scene.panels) == 1:
        return [(scene.panels[0], (WIDTH - PANEL) / 2)]
    shifts = [5.0 + PANEL * at for at in range(2)]
    return list(zip(scene.panels, shifts, strict=True))


def _layers(panel: Panel, shift: float) -> list[list[Mark]]:
    """Return the marks of a panel from back to front, without its arrows."""
    figure = body_layers(body(panel.pose)) if panel.pose else []
    layers: list[Sequence[Mark]] = [panel.behind, *figure, panel.before]
    return [[mark.moved(shift) for mark in layer] for layer in layers]


def _notes(panel: Panel, shift: float, at: int | None, size: int) -> str:
    arrows = [mark.moved(shift) for mark in panel.arrows]
    return svgs(arrows) + (_label(at, shift, size) if at else "")


def _panel(panel: Panel, key: str, shift: float, at: int | None) -> str:
    layers = _layers(panel, shift)
    parts = [
        _layer(layer, _flat(layers[place + 1 :]), f"{key}-{place}")
        for place, layer in enumerate(layers)
    ]
    return "\n".join([*filter(None, parts), _notes(panel, shift, at, LABEL), ""])


def _panel_on_white(panel: Panel, shift: float, at: int | None) -> str:
    parts = [
        "".join(svg(mark, colour=WHITE, halo=HALO) for mark in layer) + svgs(layer)
        for layer in _layers(panel, shift)
    ]
    return "".join(parts) + _notes(panel, shift, at, LABEL_ON_WHITE)


def _flat(layers: Sequence[Sequence[Mark]]) -> list[Mark]:
    return [mark for layer in layers for mark in layer]


def _layer(marks: Sequence[Mark], before: Sequence[Mark], key: str) -> str:
    """Draw marks, with a gap where something lies before them."""
    if not marks:
        return ""
    if not before:
        return svgs(marks)
    gaps = "".join(svg(mark, colour="#000", halo=HALO) for mark in before)
    return (
        f'<mask id="{key}" maskUnits="userSpaceOnUse" x="0" y="0" width="{WIDTH}"'
        f' height="{HEIGHT}"><path fill="#fff" d="M0 0H{WIDTH}V{HEIGHT}H0Z"/>{gaps}'
        f'</mask><g mask="url(#{key})">{svgs(marks)}</g>'
    )


def _label(at: int, shift: float, size: int) -> str:
    return (
        f'<text x="{shift + 6:g}" y="{size + 3}" font-family="sans-serif"'
        f' font-size="{size}" font-weight="bold" fill="currentColor">{at}</text>'
    )


def body_layers(figure: Body) -> list[list[Mark]]:
    """The person from back to front: far limbs, body and near leg, near arm."""
    is_side = not figure.is_front
    far_arm = _limb(figure.far_arm, "arm", is_soft=is_side)
    far_leg = _limb(figure.far_leg, "leg", is_soft=is_side)
    near_arm = _limb(figure.near_arm, "arm")
    near_leg = _limb(figure.near_leg, "leg")
    trunk = [*_trunk(figure), Dot(figure.head, HEAD)]
    if figure.is_front:
        return [far_leg, [*near_leg, *trunk], far_arm, near_arm]
    return [far_arm, far_leg, [*near_leg, *trunk], near_arm]


def _trunk(figure: Body) -> list[Mark]:
    if not figure.is_front:
        return [Stroke((figure.hip, figure.shoulder), width=TRUNK_WIDTH)]
    corners = (
        figure.far_leg[0],
        figure.near_leg[0],
        figure.near_arm[0],
        figure.far_arm[0] if figure.far_arm else figure.shoulder,
    )
    return [Stroke(corners, width=9, is_closed=True, is_filled=True)]


def _limb(joints: tuple[Point, ...], kind: str, *, is_soft: bool = False) -> list[Mark]:
    return [
        Stroke((start, end), width=width, is_soft=is_soft)
        for start, end, width in zip(
            joints, joints[1:], LIMB_WIDTHS[kind], strict=False
        )
    ]
