"""The drawings: as generated, one for each entry that names one, safe to inline."""

import re
import subprocess
import sys
from math import dist
from pathlib import Path
from xml.etree import ElementTree

import pytest

from programs.drawings.catalogue import FOLDER, SCENES, drawings, write
from programs.drawings.figure import (
    FOREARM,
    SHANK,
    THIGH,
    UPPER_ARM,
    Placed,
    Pose,
    Reaching,
    Turned,
    body,
)
from programs.drawings.ink import GROUND
from programs.drawings.picture import HEIGHT, WIDTH
from programs.library import exercise, library

SVG = "{http://www.w3.org/2000/svg}"
FILES = drawings()
EVERY_FILE = [pytest.param(name, id=name) for name in FILES]
STANDING = Pose((80, 77), *[Reaching(80, 5)] * 2, *[Turned(-90, -90)] * 2)


def posed(leg: Reaching | Turned | Placed) -> tuple[tuple[float, float], ...]:
    """Return hip, knee, ankle and toe of the near leg."""
    return body(Pose((80, 77), leg, leg, Turned(-90, -90), Turned(-90, -90))).near_leg


# What is committed


def test_the_committed_files_are_those_that_the_scenes_make() -> None:
    """Run `python -m programs.drawings` after a change."""
    assert {path.name for path in FOLDER.iterdir()} == set(FILES)
    stale = [
        name
        for name, text in FILES.items()
        if (FOLDER / name).read_text("utf-8") != text
    ]
    assert stale == []


def test_writing_takes_away_what_no_scene_makes(tmp_path: Path) -> None:
    (tmp_path / "left_over.svg").write_text("<svg/>", "utf-8")
    assert write(tmp_path) == len(FILES)
    assert {path.name for path in tmp_path.iterdir()} == set(FILES)


def test_the_generator_needs_no_django() -> None:
    code = "import sys, programs.drawings.catalogue; print('django' in sys.modules)"
    assert subprocess.check_output([sys.executable, "-c", code], text=True) == "False\n"


def test_at_least_the_25_commonest_entries_are_drawn() -> None:
    assert len(FILES) >= 25


def test_the_library_names_every_drawing_and_no_other() -> None:
    named = [one.drawing for one in library().values() if one.drawing]
    assert sorted(named) == sorted(SCENES)
    for one in library().values():
        assert one.drawing in (None, one.key)


# What a file holds


@pytest.mark.parametrize("name", EVERY_FILE)
def test_a_file_is_one_picture_with_a_title(name: str) -> None:
    root = ElementTree.fromstring(FILES[name])  # noqa: S314 - our own text
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox") == f"0 0 {WIDTH} {HEIGHT}"
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == exercise(name.removesuffix(".svg")).name
    assert root.get("aria-labelledby") == title.get("id")


@pytest.mark.parametrize("name", EVERY_FILE)
def test_ink_is_the_colour_of_the_text(name: str) -> None:
    """Black and white occur in masks only, where they mean hidden and shown."""
    outside = re.sub(r"<mask.*?</mask>", "", FILES[name])
    colours = re.findall(r'(?:fill|stroke)="([^"]+)"', outside)
    assert set(colours) <= {"currentColor", "none"}


@pytest.mark.parametrize("name", EVERY_FILE)
def test_a_file_can_stand_inside_a_page(name: str) -> None:
    """No style, no script, no address: the content security policy holds."""
    text = FILES[name]
    assert not re.search(r"style=|<style|<script|href|\son\w+=", text)
    assert set(re.findall(r"url\(([^)]*)\)", text)) == {
        f"#{one}" for one in re.findall(r'<mask id="([^"]+)"', text)
    }


def test_ids_are_unique_over_all_files() -> None:
    ids = [
        one for text in FILES.values() for one in re.findall(r'\sid="([^"]+)"', text)
    ]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", EVERY_FILE)
def test_everything_lies_inside_the_picture(name: str) -> None:
    text = re.sub(r"<mask.*?</mask>", "", FILES[name])
    for path in re.findall(r' d="([^"]+)"', text):
        numbers = [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", path)]
        assert all(0 <= x <= WIDTH for x in numbers[::2]), path
        assert all(0 <= y <= GROUND + 4 for y in numbers[1::2]), path


@pytest.mark.parametrize("name", EVERY_FILE)
def test_movement_has_two_positions_and_an_arrow(name: str) -> None:
    scene = SCENES[name.removesuffix(".svg")]
    assert len(scene.panels) in (1, 2)
    assert any(panel.arrows for panel in scene.panels) or len(scene.panels) == 1


# The figure


def test_a_limb_reaches_where_it_can_with_its_own_length() -> None:
    hip, knee, ankle, _toe = posed(Reaching(90, 20))
    assert ankle == pytest.approx((90, 20))
    assert dist(hip, knee) == pytest.approx(THIGH)
    assert dist(knee, ankle) == pytest.approx(SHANK)


def test_bend_chooses_the_side_of_the_joint() -> None:
    """The knee of someone who faces right goes to the right."""
    _, forwards, _, _ = posed(Reaching(80, 20, bend=1))
    _, backwards, _, _ = posed(Reaching(80, 20, bend=-1))
    assert forwards[0] > 80 > backwards[0]


def test_a_limb_points_at_what_is_out_of_reach() -> None:
    hip, _, ankle, _ = posed(Reaching(80, -200))
    assert ankle[0] == pytest.approx(80)
    assert dist(hip, ankle) == pytest.approx(THIGH + SHANK, abs=0.1)


def test_turned_limbs_follow_their_directions() -> None:
    _, knee, ankle, toe = posed(Turned(0, -90, 0))
    assert knee == pytest.approx((80 + THIGH, 77))
    assert ankle == pytest.approx((80 + THIGH, 77 - SHANK))
    assert toe[0] > ankle[0]


def test_placed_limbs_are_where_they_are_put() -> None:
    assert posed(Placed((100, 50), (90, 10)))[1:3] == ((100, 50), (90, 10))


def test_arms_have_their_own_lengths_and_hang_from_the_shoulder() -> None:
    shoulder, elbow, hand = body(STANDING).near_arm
    assert dist(shoulder, elbow) == pytest.approx(UPPER_ARM)
    assert dist(elbow, hand) == pytest.approx(FOREARM)


def test_only_the_front_view_has_two_hips() -> None:
    side = body(STANDING)
    assert side.near_leg[0] == side.far_leg[0]
    front = body(
        Pose((80, 77), *[Reaching(80, 5)] * 2, *[Turned(-90, -90)] * 2, is_front=True)
    )
    assert front.near_leg[0][0] > front.far_leg[0][0]
